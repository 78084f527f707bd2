"""Test: the trials of one test after another, and the ways from test to test."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from screen_tui.session.model import Skip
from screen_tui.trial.battery import Item
from screen_tui.trial.keymap import Action
from screen_tui.trial.set_up import higher_seat
from screen_tui.tui.drawing.words import test_name
from screen_tui.tui.keybar import KeyHint
from screen_tui.tui.screens.beside_trial import BesideTrialPage
from screen_tui.tui.screens.jump import JumpPage
from screen_tui.tui.screens.leave_trial import FORGET, KEEP, STRIKE, leave_trial_page
from screen_tui.tui.screens.repeat_with_cue import cue_of_answer, repeat_with_cue_page
from screen_tui.tui.screens.skip_reason import skip_reason_page
from screen_tui.tui.screens.trials import TrialsPage


class TestPage(BesideTrialPage):
    """Goes from trial to trial and from test to test."""

    __test__ = False

    def __init__(self, wanted: Item | None = None, cue: str = "", told: str = "") -> None:
        super().__init__(wanted, cue, told)
        self._warned_of: Item | None = None

    @property
    def at_hand(self) -> str:
        """What the test at hand and its leg are called."""
        item = self.itinerary.item
        return test_name(self.host.protocol, item.test, item.side)

    @property
    def series_over(self) -> bool:
        """Whether the series is complete and nothing more has been begun."""
        return self.trial.series_complete and not self.trial.unsaved

    @property
    def _must_warn(self) -> bool:
        """Whether Space would start a test that is withheld, and nobody has been warned."""
        item = self.itinerary.item
        return self.itinerary.withheld and self._warned_of != item and not self.trial.unsaved

    def _warn(self) -> None:
        """Say once why the test is withheld; the judgement is the clinician's."""
        self._warned_of = self.itinerary.item
        self.said = f"{self.itinerary.why_not} Space again starts it all the same."

    def own_hints(self) -> Sequence[KeyHint]:
        spec = self.itinerary.spec
        # With a trial at hand the ways from here only ask about it, so they go first.
        later = 10 if self.trial.unsaved else 0
        # Without a cue there is less of a result; with one, there must be something to compare.
        cue = 3 if self.trial.series.counting or self.trial.series.cue else 8
        return (
            *((self.hint(Action.ENTER, "next test", 0),) if self.series_over else ()),
            *((self.hint(Action.TIME, "start all the same", 0),) if self._must_warn else ()),
            self.hint(Action.NEXT_TEST, "next test", 2 + later),
            *((self.hint(Action.OTHER_LEG, "other leg", 3 + later),) if spec.sided else ()),
            self.hint(Action.TEST_BEFORE, "back", 4 + later),
            self.hint(Action.SKIP, "skip", 3 + later),
            *((self.hint(Action.CUE, "cue", cue + later),) if spec.cues else ()),
            self.hint(Action.ALL_TESTS, "all tests", 6 + later),
            self.hint(Action.TRIALS, "trials", 8 + later),
            self.hint(Action.RESULT, "result", 6 + later),
            self.hint(Action.LEAVE, "leave", 5 + later),
            *self.hints_beside(later),
            self.hint(self.ANY_TIME, "stop all", 1),
        )

    def own_actions(self) -> Mapping[Action, Callable[[], object]]:
        ways: dict[Action, Callable[[], object]] = {
            Action.NEXT_TEST: self._go_next,
            Action.TEST_BEFORE: self._go_back,
            Action.OTHER_LEG: self._go_other_leg,
            Action.SKIP: self._ask_why_skipped,
            Action.CUE: self._ask_for_cue,
            Action.ALL_TESTS: self._ask_which_test,
            Action.TRIALS: self._show_trials,
            Action.RESULT: self.host.go_result,
            Action.LEAVE: lambda: self.host.go_start(
                "Saved. The screen can be resumed from the list."
            ),
        }
        guarded = {key: self._after_asking(way) for key, way in ways.items()}
        if self.series_over:
            guarded[Action.ENTER] = self._go_next
        if self._must_warn:
            guarded[Action.TIME] = self._warn
        return {**guarded, **self.actions_beside(), self.ANY_TIME: self.host.ask_to_stop}

    def after_keeping(self) -> None:
        """Go on once the series is complete; what was kept is still told on the next test.

        After a rise with hands the test stays, so that it can be offered from a higher seat.
        """
        advice = higher_seat(self.itinerary.spec, self.host.keeper.session.trials[-1])
        if advice:
            self.said = f"{self.said} {advice}".strip()
        elif self.series_over:
            told = self.said
            self._go_next()
            self.said = f"{told} {self.said}".strip()

    def _after_asking(self, go: Callable[[], object]) -> Callable[[], object]:
        """The way, with the question first what becomes of a trial that is not kept yet."""

        def decided(answer: str | None) -> None:
            if answer is None:
                return
            if answer == KEEP:
                self.keep_now()
            elif answer == STRIKE:
                self.strike_out("left before it was kept")
            elif answer == FORGET:
                self.host.keeper.mark_under_way(None)
            if answer != KEEP or not self.trial.unsaved:
                go()
            self.host.ask_about_trouble()

        def ask() -> None:
            if self.trial.unsaved:
                page = leave_trial_page(self.at_hand, ended=self.trial.ended)
                self.host.push_screen(page, decided)
            else:
                go()

        return ask

    def _go_next(self) -> None:
        following = self.itinerary.following
        if following is None:
            self.host.go_result()
            return
        left_out = self.itinerary.withheld_before(following)
        self.take_up(following)
        self.said = f"{left_out} {self.said}".strip()

    def _go_back(self) -> None:
        leave = self.trial.keymap.key(Action.LEAVE)
        first = f"This is the first test. {leave} leaves to Start."
        self._take_up_or_say(self.itinerary.before, first)

    def _go_other_leg(self) -> None:
        self._take_up_or_say(self.itinerary.other_leg, "This test has no other leg.")

    def _take_up_or_say(self, item: Item | None, otherwise: str) -> None:
        if item is None:
            self.said = otherwise
        else:
            self.take_up(item)

    def _ask_why_skipped(self) -> None:
        self.host.push_screen(skip_reason_page(self.at_hand), self._skip)

    def _skip(self, reason: str | None) -> None:
        if reason is not None:
            item, name = self.itinerary.item, self.at_hand
            self.host.keeper.skip(Skip(test=item.test, side=item.side, reason=reason))
            self._go_next()
            self.said = f"Skipped: {name}, {reason}. {self.said}".strip()
            self.host.ask_about_trouble()

    def _ask_which_test(self) -> None:
        page = JumpPage(self.host.protocol, self.itinerary.listed, self.itinerary.item)
        self.host.push_screen(page, self._jump)

    def _jump(self, item: Item | None) -> None:
        if item is not None:
            self.take_up(item)

    def _show_trials(self) -> None:
        # What was struck out or counted again may have changed the series at hand.
        self.host.push_screen(TrialsPage(), lambda _: self.take_up(self.itinerary.item))

    def _ask_for_cue(self) -> None:
        if self.itinerary.spec.cues:
            self.host.push_screen(repeat_with_cue_page(self.itinerary.spec), self._repeat_with)
        else:
            self.said = "This test has no cue to repeat it with."

    def _repeat_with(self, answer: str | None) -> None:
        if answer is not None:
            self.take_up(self.itinerary.item, cue_of_answer(self.itinerary.spec, answer))
