"""Test: one trial after another, and the ways from test to test.

`trial` takes the time: this hands it keys, draws it, and saves what it comes to.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence, Set
from dataclasses import replace
from string import ascii_lowercase

from textual import events

from screen_tui.engine.results import CautionRaised
from screen_tui.engine.safety import contradicted_answers
from screen_tui.errors import EntryRefusedError
from screen_tui.report.words import short_on
from screen_tui.session.model import MOST_TRIALS, Skip, Trial
from screen_tui.timing.key_filter import Passed
from screen_tui.trial import actions, record
from screen_tui.trial.battery import Item, ItemState
from screen_tui.trial.itinerary import Itinerary, MinutesLeft
from screen_tui.trial.keymap import KEYMAP, Action
from screen_tui.trial.record import under_way, worth_saving
from screen_tui.trial.set_up import (
    Noted,
    Said,
    SetUpForm,
    carried,
    higher_seat,
    in_short,
    of_last_visit,
)
from screen_tui.trial.state import TrialState, watched
from screen_tui.trial.view import TrialView, view_of
from screen_tui.tui.drawing.practice_run import BOTH_FROM
from screen_tui.tui.drawing.rows import Choice, Row, cells, whole_sentences
from screen_tui.tui.drawing.test import draw_test
from screen_tui.tui.drawing.words import SAVED, kept_sentence
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.practising import Practising
from screen_tui.tui.screens.base import MORE_KEY, MOST_NOTICE, BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.dialogs import (
    CORRECTED,
    FORGET,
    KEEP,
    STRIKE,
    YES_AGAIN,
    ask_again_dialog,
    ask_for_correction,
    comment_dialog,
    cue_dialog,
    leave_trial_dialog,
    skip_dialog,
)
from screen_tui.tui.screens.list import PickScreen, keyed
from screen_tui.tui.screens.set_up import SetUpScreen
from screen_tui.tui.screens.trials import TrialsScreen

TICK_S = 0.1
_READ_ON = {"down": 1, "pagedown": 1, "up": -1, "pageup": -1}
"""The keys that turn the pages of what is read before the start."""

FULL = (
    f"This session holds {MOST_TRIALS:,} trials, and one holds no more. "
    f"{KEYMAP.key(Action.RESULT)} shows its answer; begin another session for more trials."
)
CUE_LATER = "A cue comes after a trial without one, to be compared with it."


def _way(action: Action, does: str, rank: int, do: Callable[[], object]) -> KeyHint:
    """What the screen itself does, beside the trial."""
    return KeyHint(KEYMAP.key(action), does, rank, do, also=KEYMAP.binding(action).keys)


class TestScreen(BaseScreen[None]):
    """Draws the trial at hand and gives it every key that is not the screen's own.

    Args:
        first: The test to begin with; None for the first that is still to do.
        cue: The cue of a repeat, or "".
        patient: Who does the tests in practice; None for a person in the room.
    """

    GUIDE = "tests"

    __test__ = False
    STEADY_NOTICE = 1
    STEADY_KEYS = 2
    FILTERS_KEYS = True
    ANY_SIZE = True

    def __init__(
        self,
        first: Item | None = None,
        cue: str = "",
        said: str = "",
        patient: Practising | None = None,
        chosen: Set[str] = frozenset(),
    ) -> None:
        super().__init__()
        self.said = said
        self.patient = patient
        self._chosen = chosen | patient.chosen if patient else chosen
        self._first = (first, cue)
        self._itinerary: Itinerary | None = None
        self._trial: TrialState | None = None
        self._marked: Hashable = None
        self._drawn_view: TrialView | None = None
        self._warned_of: Item | None = None
        self._asked_again: set[str] = set()
        self._minutes: MinutesLeft | None = None
        self._rest_until: float | None = None
        self._page = 0
        self._asked_set_up = False

    def on_mount(self) -> None:
        (first, cue), controller = self._first, self.host.controller
        self._itinerary = Itinerary.of(
            self.host.protocol, controller.session, controller.earlier, first, self._chosen
        )
        said = self.said
        self.take_up(self._itinerary.item, cue)
        self.said = f"{said} {self.said}".strip()
        self.host.keys = self.host.keys.without_waiting()
        if self.host.ticking:
            self.set_interval(TICK_S, self.tick)

    @property
    def itinerary(self) -> Itinerary:
        """The tests, as far as the session is now."""
        assert self._itinerary is not None
        self._itinerary = self._itinerary.after(self.host.controller.session)
        return self._itinerary

    @property
    def trial(self) -> TrialState:
        assert self._trial is not None
        return self._trial

    @property
    def at_hand(self) -> str:
        item = self.itinerary.item
        return short_on(self.host.protocol, item.test, item.side)

    @property
    def unsaved(self) -> bool:
        """Whether a trial is under way that would be void if the page were left."""
        return self._trial is not None and self._trial.unsaved

    def take_up(self, item: Item, cue: str = "") -> None:
        host = self.host
        self._note_minutes()
        tapped = self._trial is not None and self._trial.input.tapped
        self._page = 0
        self._itinerary = self.itinerary.at(item)
        trial = TrialState.at(
            self.itinerary.spec,
            item.side,
            host.protocol.signs,
            host.controller.session.trials,
            cue,
            count_in=host.settings.count_in_s,
            set_up=self._set_up_so_far(),
            first_leg="right" if host.controller.session.intake.side == "right" else "left",
            tapped=tapped and self.itinerary.spec.timer.flight is not None,
        )
        if self.itinerary.spec.load != "unloaded":
            trial = replace(trial, rest_until=self._rest_until)
        self._trial = self.patient.at_trial(trial) if self.patient else trial
        self.said = self.itinerary.why_not
        self.redraw()
        self._ask_as_last_time()

    # What is drawn.

    @property
    def view(self) -> TrialView:
        """The trial as it is drawn now; during one drawing it is the same for all who ask."""
        return self._drawn_view or self._view_now()

    def _view_now(self) -> TrialView:
        results: tuple[str, ...] = ()
        cautions: tuple[str, ...] = ()
        if not self.trial.unsaved:  # while a clock runs nobody reads it, and keys must not wait
            results, cautions = self.itinerary.results, self.itinerary.cautions
        now = self.host.clock.monotonic()
        view = view_of(self.trial, now, self.host.keys, results=results, cautions=cautions)
        if then := self.itinerary.value_then if self.host.settings.last_values else "":
            view = replace(view, remarks=(*view.remarks, then))
            if view.before is not None:
                before = replace(view.before, results=(*view.before.results, then))
                view = replace(view, before=before)
        return view if self.host.settings.flash else replace(view, flash=False)

    def _note_minutes(self) -> None:
        now, tests = self.host.clock.monotonic(), self.itinerary
        before = self._minutes or MinutesLeft(tests.minutes_left, tests.minutes_left, now)
        self._minutes = before.after(tests.minutes_left, tests.item.minutes, now)

    def head(self) -> tuple[Row, Row]:
        spec, controller = self.itinerary.spec, self.host.controller
        left = self._minutes.words if self._minutes else ""
        right = (self.itinerary.place, left, controller.session.client.label)
        fits = cells("  ".join((spec.name, *right))) < self.size.width - 2
        return screen_head(spec.name if fits else spec.short_name, *right)

    def draw(self, width: int, height: int) -> Drawn:
        if self.patient is not None and not self.is_small:
            return Drawn(self.patient.draw(self.trial, self.view, width, height))
        return Drawn(draw_test(self.view, width, height, self._page))

    def notice(self) -> str:
        view, said = self.view, self.said
        if said.startswith(SAVED):  # what was saved comes first, and what follows from it
            said = whole_sentences(said, self.size.width - 2, MOST_NOTICE)
        return view.error or view.hint or said

    def redraw(self) -> None:
        if self._trial is None or self.gone:
            return
        self._mark_under_way()
        self._note_minutes()
        self._drawn_view = self._view_now()
        try:
            super().redraw()
        finally:
            self._drawn_view = None

    def _mark_under_way(self) -> None:
        """Have the file say what would be lost if the program died now."""
        tells = worth_saving(self.trial)
        if tells != self._marked:
            self._marked = tells
            self.host.controller.mark_under_way(under_way(self.trial))

    # What is done, by the trial and by the screen itself.

    def tick(self) -> None:
        """Let time pass on the display; what is recorded comes from key presses."""
        if self.gone:
            return  # what waits in the filter has no trial any more
        now = self.host.clock.monotonic()
        self._trial = watched(self.trial, now, self.host.clock.wall())
        self.host.keys, passed = self.host.keys.poll(now)
        self._let_through(passed)
        if not self.gone:
            self._moved(actions.tick(self.trial, now))

    def on_app_blur(self) -> None:
        """Note that keys may have gone elsewhere."""
        if self._trial is not None:
            self._trial = actions.blurred(self._trial)

    @property
    def trial_has_the_keys(self) -> bool:
        """Whether the trial must not be left now, or waits for a choice."""
        return self.trial.busy or bool(self.view.choices)

    @property
    def lists_keys(self) -> bool:
        return not self.trial_has_the_keys

    def hints(self) -> Sequence[KeyHint]:
        key = self.trial.keymap.key
        of_trial = [KeyHint(key, does, rank) for rank, (key, does) in enumerate(self.view.keys)]
        if self.is_small:
            return (*of_trial, KeyHint(key(Action.STOP), "safety", 0))
        own = [hint for hint in self._ways() if hint.does]
        taken = {hint.key for hint in own}
        return (*(hint for hint in of_trial if hint.key not in taken), *own, *self._turn_hint())

    def _turn_hint(self) -> Sequence[KeyHint]:
        """How to see the patient from the other side, where only one is shown."""
        narrow = self.size.width - 2 < BOTH_FROM or self.host.settings.layout == "narrow"
        if self.patient is None or not narrow:
            return ()
        turned = "from the side" if self.patient.place == "front" else "from the front"
        return (KeyHint(self.trial.keymap.key(Action.PATIENT_SIDE), turned, 1),)

    def act_on_waiting(self, key: str) -> None:
        typed = actions.is_typed(self.trial, key)
        self.host.keys, passed = self.host.keys.before(key, typed=typed)
        self._let_through(passed)

    def take_key(self, key: str, event: events.Key) -> bool:
        does = self.trial.keymap.actions(key)
        if self.patient is not None and Action.PATIENT_SIDE in does:
            self.patient.turn()
            return True
        if "+" in event.key[:-1] or (key == MORE_KEY and self.lists_keys):
            return False
        if key == self.trial.read_on:
            self._page += 1
            return True
        if key in _READ_ON and not actions.takes(self.trial, key):
            self._page += _READ_ON[key] if self.trial.read_on else 0
            return True
        self.said = ""
        before, clock = self.trial, self.host.clock
        if Action.STOP in does:
            self.host.ask_to_stop()
        elif actions.is_typed(before, key):
            self._act(key, event.time)
        elif (own := self._own(key) is not None) or actions.takes(before, key):
            now = clock.monotonic()
            if not own or self.trial_has_the_keys:
                # Before the key acts: it may be the last thing there is of the trial.
                self._trial = before = watched(before, now, clock.wall())
            self.host.keys, passed = self.host.keys.press(key, event.time)
            self._let_through(passed)
            self._trial = actions.handled(before, self.trial, event.time, now)
        return True

    def _let_through(self, passed: Passed) -> None:
        for key, t in passed:
            if not self.gone:
                self._act(key, t)

    def _act(self, key: str, t: float) -> None:
        own = self._own(key)
        if own is not None and not self.trial_has_the_keys:
            if self.is_active:
                own()
        elif self.host.controller.session.full and not self.trial.unsaved:
            # Before a trial is begun, so that none is lost.
            self.said = FULL
        else:
            trial, self.host.keys = actions.press(self.trial, self.host.keys, key, t)
            self._moved(trial)

    def _own(self, key: str) -> Callable[[], object] | None:
        """What the screen itself does with a key; None where it does nothing."""
        return next((hint.do for hint in self._ways() if key in hint.also), None)

    def _moved(self, trial: TrialState, *, leaving: bool = False) -> None:
        """Take the trial as it is now: ring, save a finished trial, draw."""
        self._trial = trial
        if trial.record is not None:
            self.host.controller.add_trial(trial.record)
            saved = kept_sentence(self.host.protocol, trial.record)
            self.said = f"{saved} {self.host.controller.take_remark()}".strip()
            self._note_minutes()
            if trial.record.counts and trial.spec.rest_after_s:
                self._rest_until = self.host.clock.monotonic() + trial.spec.rest_after_s
            self._trial = trial.again()
            if not leaving:
                self._go_on()
                self._ask_again()
                self.host.ask_about_trouble()
        elif trial.bell and self.host.settings.bell:
            self.host.bell()
        self.redraw()

    def _go_on(self) -> None:
        """Go on once the series is complete; what it came to is still said on the next test.

        After a rise with hands the test stays, so that it can be offered from a higher seat. After
        a cue it stays while trials without one are open.
        """
        advice = higher_seat(self.itinerary.spec, self.host.controller.session.trials[-1])
        item, said = self.itinerary.item, self.said
        if advice:
            self.said = f"{self.said} {advice}".strip()
        elif self.trial.series.cue and not self.itinerary.without_cue.complete:
            self.take_up(item)
            self.said = f"{said} {self.said}".strip()
        elif self.series_over:
            said = " ".join((said, *(f"{line}." for line in self.itinerary.results)))
            self._go_next()
            self.said = f"{said} {self.said}".strip()

    def _ask_again(self) -> None:
        """Ask a safety question once more, as soon as a trial contradicts its no."""
        controller, protocol = self.host.controller, self.host.protocol
        for one in contradicted_answers(self.itinerary.seen):
            if one.id in self._asked_again:
                continue
            self._asked_again.add(one.id)

            def answered(answer: str, one: CautionRaised = one) -> None:
                day, yes = self.host.clock.wall().date(), answer == YES_AGAIN
                session = controller.session
                controller.change(
                    session.with_caution_asked_again(one.id, one.because, day, yes=yes)
                )
                if answer == YES_AGAIN:
                    self.host.go_result()

            self.host.ask(ask_again_dialog(protocol.caution(one.id), one), answered)
            return

    def strike_out(self, reason: str) -> None:
        """Save a trial that was begun as void, so that nothing is lost; the page is left."""
        if self.unsaved:
            trial = actions.strike_out(self._last(), reason, self.host.clock.monotonic())
            self._moved(trial, leaving=True)

    def _last(self) -> TrialState:
        """The trial with all that was pressed, since it is left."""
        self.host.keys, passed = self.host.keys.flush()
        return actions.press_all(self.trial, passed)

    # The ways from here, and what is noted beside the trial.

    def _ways(self) -> Sequence[KeyHint]:
        """What the screen itself does now, in the order of the line of keys."""
        spec, host, patient = self.itinerary.spec, self.host, self.patient
        stop = _way(Action.STOP, "stop testing", 1, host.ask_to_stop)
        if self.trial_has_the_keys:
            return (stop,)
        # With a trial at hand the ways from here only ask about it, so they go first.
        later = 10 if self.trial.unsaved else 0
        # Without a cue there is less of a result; with one, there must be something to compare.
        rank = 3 if self.trial.series.counting or self.trial.series.cue else 8
        noted = self.trial.unsaved or self.itinerary.last_here is not None
        # Without words the line of keys is silent; the key says why it does nothing.
        leg, cued = "other leg" if spec.sided else "", "cue" if self._cue_fits else ""
        set_up, comment = "set-up" if spec.set_up else "", "comment" if noted else ""
        correct = "correct" if noted and not spec.timer.refuses("correction") else ""
        last = host.controller.earlier is not None
        asks = patient is not None and not self._must_warn and patient.can_be_asked(self.trial)
        after = self._after_asking

        own: list[tuple[bool, KeyHint]] = [
            (asks, _way(Action.TIME, "ask to begin", 0, self._ask_patient)),
            (self.series_over, _way(Action.ENTER, "next test", 0, self._go_next)),
            (self._must_warn, _way(Action.TIME, "start all the same", 0, self._warn)),
            (True, _way(Action.NEXT_TEST, "next test", 2 + later, after(self._go_next))),
            (True, _way(Action.OTHER_LEG, leg, 3 + later, after(self._go_other_leg))),
            (True, _way(Action.TEST_BEFORE, "back", 4 + later, after(self._go_back))),
            (True, _way(Action.SKIP, "skip", 3 + later, after(self._ask_why_skipped))),
            (True, _way(Action.CUE, cued, rank + later, after(self._ask_for_cue))),
            (True, _way(Action.ALL_TESTS, "all tests", 6 + later, after(self._ask_which_test))),
            (True, _way(Action.TRIALS, "trials", 8 + later, after(self._show_trials))),
            (not patient, _way(Action.ANSWERS, "questions", 7 + later, after(host.change_answers))),
            (True, _way(Action.RESULT, "answer", 6 + later, after(host.go_result))),
            (True, _way(Action.LEAVE, "leave", 5 + later, after(self._leave))),
            (True, _way(Action.SET_UP, set_up, 7 + later, self._note_set_up)),
            (True, _way(Action.NOTE, comment, 8, self._ask_for_words)),
            (True, _way(Action.CORRECT, correct, 8, self._ask_for_value)),
            (last, _way(Action.LAST_VALUES, "last values", 8, self._show_last)),
            (True, _way(Action.HELP, "help", 2 + later // 2, lambda: host.show_help(spec))),
            (True, stop),
        ]
        return [way for there, way in own if there]

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

    def _ask_patient(self) -> None:
        if self.patient is not None:
            self.patient.ask(self.trial)
        self.said = ""

    def _after_asking(self, go: Callable[[], object]) -> Callable[[], object]:
        """The way, with the question first what becomes of a trial that is not saved yet."""

        def decided(answer: str) -> None:
            if answer == KEEP:
                self._moved(
                    actions.save_now(self._last(), self.host.clock.monotonic()), leaving=True
                )
            elif answer == STRIKE:
                self.strike_out("left before it was saved")
            elif answer == FORGET:
                self.host.controller.mark_under_way(None)
            if answer != KEEP or not self.trial.unsaved:
                go()
            self.host.ask_about_trouble()

        def ask() -> None:
            if self.trial.unsaved:
                self.host.ask(leave_trial_dialog(self.at_hand, ended=self.trial.ended), decided)
            else:
                go()

        return ask

    def _leave(self) -> None:
        if self.patient is not None:
            self.host.ask_to_leave_practice()
        else:
            session = self.host.controller.session
            finished = f"{session.client.label} is finished and saved."
            resumable = "Saved. The session can be resumed from the list."
            self.host.go_start(finished if session.finished else resumable)

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
        def left_out(reason: str) -> None:
            item, name = self.itinerary.item, self.at_hand
            skip = Skip(test=item.test, side=item.side, reason=reason)
            self.host.controller.change(self.host.controller.session.with_skip(skip))
            self._go_next()
            self.said = f"Skipped: {name}, {reason}. {self.said}".strip()
            self.host.ask_about_trouble()

        dialog = skip_dialog(self.at_hand, practising=self.patient is not None)
        self.host.ask(dialog, left_out)

    def _ask_which_test(self) -> None:
        tests, picks = self.itinerary, []
        for key, one in keyed(tests.listed, _LIST_KEYS):
            name = short_on(tests.protocol, one.item.test, one.item.side)
            picks.append((Choice("", key, f"{name}: {_how_far(one)}"), one.item))
        at = next((at for at, one in enumerate(picks) if one[1] == tests.item), 0)
        self.host.ask(PickScreen("All tests", picks, at, "go there"), self.take_up)

    def _show_trials(self) -> None:
        # What was made void or counts again may have changed the series at hand.
        self.host.push_screen(TrialsScreen(), lambda _: self.take_up(self.itinerary.item))

    def _ask_for_cue(self) -> None:
        spec = self.itinerary.spec

        def repeat(answer: str) -> None:
            cue = next(cue.id for cue in spec.cues if cue.say == answer)
            self.take_up(self.itinerary.item, cue)

        if self._cue_fits:
            self.host.ask(cue_dialog(spec), repeat)
        else:
            self.said = CUE_LATER if spec.cues else "This test has no cue to repeat it with."

    @property
    def _cue_fits(self) -> bool:
        """Whether the test at hand has a cue, and a trial without one to compare with."""
        return bool(self.itinerary.spec.cues and self.itinerary.without_cue.counting)

    def _show_last(self) -> None:
        """Show what was measured last time, or hide it again; until the program ends."""
        wanted = not self.host.settings.last_values
        self.host.settings = self.host.settings.model_copy(update={"last_values": wanted})
        if wanted and not self.itinerary.value_then:
            self.said = "This test gave no value last time."
        self.redraw()

    # What is noted beside the trial: its set-up, and words and another value, to the trial at hand
    # or, where nothing was begun, to the last one of this test on this leg.

    def _set_up_so_far(self) -> Noted:
        session = self.host.controller.session
        return carried(self.itinerary.spec, session.trials, session.set_up_noted)

    def _note_set_up(self) -> None:
        spec, noted = self.itinerary.spec, self.trial.set_up
        if spec.set_up:
            form = SetUpForm(spec.set_up, noted, noted)
            self.host.ask(SetUpScreen(form, spec.short_name), self._take_set_up)
        else:
            self.said = "Nothing about the set-up of this test is recorded."

    def _ask_as_last_time(self) -> None:
        """Ask once, at the first test it matters to, whether the set-up is that of last time."""
        controller, tests = self.host.controller, self.itinerary
        session = controller.session
        known = session.set_up_noted or carried(tests.spec, session.trials, {})
        if controller.earlier is None or self._asked_set_up or known or not tests.spec.set_up:
            return
        self._asked_set_up = True
        others = (self.host.protocol.test(item.test) for item in tests.items)
        items, noted = of_last_visit((tests.spec, *others), controller.earlier.trials)
        if items:
            page = SetUpScreen(SetUpForm(items, {}, noted), "as last time", as_last_time=True)
            self.host.ask(page, self._take_set_up)

    def _take_set_up(self, said: Said) -> None:
        if said:
            controller = self.host.controller
            controller.change(controller.session.with_set_up_noted(said))
        self._trial = replace(self.trial, set_up=self._set_up_so_far())
        if said:
            self.said = f"Set-up noted: {in_short(self.trial.set_up) or 'all as usual'}."
        self.redraw()
        self.host.ask_about_trouble()

    def _trial_to(self, what: str) -> Trial | None:
        """The last trial here; None, with a sentence, where there is none."""
        place = self.itinerary.last_here
        if place is None:
            self.said = f"Nothing to {what} yet: no trial of this test was done on this leg."
            return None
        return self.host.controller.session.trials[place]

    def _ask_for_words(self) -> None:
        lead = "A comment to this trial, for the record."
        trial = Trial(test=self.itinerary.spec.id, note=self.trial.input.note)
        if not self.unsaved:
            last = self._trial_to("comment on")
            if last is None:
                return
            trial, lead = last, f"{lead} It goes to the trial that was saved last here."

        def take(words: str) -> None:
            if self.unsaved:
                self._trial = actions.with_words(self.trial, words)
                self.said = ""
            else:
                self._amend_last(lambda trial: record.noted(trial, words), "Comment added.")
            self.redraw()

        self.host.ask(comment_dialog(trial, lead), take)

    def _ask_for_value(self) -> None:
        spec, trial = self.itinerary.spec, None
        if not self.unsaved:
            trial = self._trial_to("correct")
        elif self.trial.ended:
            try:
                trial = record.record_of(self.trial)
            except EntryRefusedError as error:
                self.said = str(error)
        else:
            self.said = "Not ended yet; there is no value to correct."
        if trial is not None:
            self.said = record.why_no_correction(spec, trial)
            if not self.said:
                ask_for_correction(self, spec, trial, self._take_value)

    def _take_value(self, typed: str, reason: str) -> None:
        spec = self.itinerary.spec
        if self.unsaved:
            self._trial = actions.with_value(self.trial, typed, reason)
        else:
            self._amend_last(lambda trial: record.corrected(spec, trial, typed, reason), CORRECTED)
        self.redraw()

    def _amend_last(self, change: Callable[[Trial], Trial], said: str) -> None:
        place, controller = self.itinerary.last_here, self.host.controller
        if place is not None:
            session = controller.session
            controller.change(session.with_trial_amended(place, change(session.trials[place])))
            self.take_up(self.itinerary.item, self.trial.series.cue)
            self.said = said
            self.host.ask_about_trouble()


# Without b, which goes back.
_LIST_KEYS = "123456789" + ascii_lowercase.replace("b", "")


def _how_far(one: ItemState) -> str:
    if one.state == "done":
        return f"done, {one.trials_done} trial{'' if one.trials_done == 1 else 's'}"
    if one.state == "todo":
        return "to do"
    if one.state == "on-request":
        return one.reason
    return f"{one.state.replace('-', ' ')}: {one.reason}"
