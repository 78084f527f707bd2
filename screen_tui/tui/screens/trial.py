"""One trial on the screen: `trial` takes the time; this hands it keys and draws it."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import replace

from textual import events

from screen_tui.session.model import MOST_TRIALS
from screen_tui.timing.key_filter import Passed
from screen_tui.trial import actions
from screen_tui.trial.battery import Item
from screen_tui.trial.keymap import KEYMAP, Action
from screen_tui.trial.set_up import Noted, carried
from screen_tui.trial.state import TrialState
from screen_tui.trial.under_way import under_way, what_tells
from screen_tui.trial.view import TrialView, view_of
from screen_tui.trial.watch import watched
from screen_tui.tui.drawing.rows import Row, cells
from screen_tui.tui.drawing.test import draw_test
from screen_tui.tui.drawing.words import kept_sentence
from screen_tui.tui.itinerary import Itinerary
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import MORE_KEY, BaseScreen, Drawn, screen_head

TICK_S = 0.1

FULL = (
    f"This screen holds {MOST_TRIALS:,} trials, and one holds no more. "
    f"{KEYMAP.key(Action.RESULT)} shows its result; begin another screen for more trials."
)


class TrialScreen(BaseScreen[None]):
    """Draws the trial and gives it every key that is not the screen's own.

    Args:
        wanted: The test to begin with; None for the first that is still to do.
        cue: The cue of a repeat, or "".
        told: What is to be said first.
    """

    STEADY_NOTICE = 1
    STEADY_KEYS = 2
    FILTERS_KEYS = True
    ANY_TIME = Action.STOP
    """The one thing the screen itself does while a trial runs."""

    def __init__(self, wanted: Item | None = None, cue: str = "", told: str = "") -> None:
        super().__init__()
        self._wanted = (wanted, cue)
        self._itinerary: Itinerary | None = None
        self._trial: TrialState | None = None
        self._told: Hashable = None
        self._drawn_view: TrialView | None = None
        self.said = told

    def on_mount(self) -> None:
        """Take up the first test, and let the display run."""
        wanted, cue = self._wanted
        self._itinerary = Itinerary(self.host.controller, wanted)
        told = self.said
        self.take_up(self._itinerary.item, cue)
        self.said = f"{told} {self.said}".strip()
        self.host.keys = self.host.keys.without_waiting()
        if self.host.ticking:
            self.set_interval(TICK_S, self.tick)

    @property
    def itinerary(self) -> Itinerary:
        """The tests."""
        assert self._itinerary is not None
        return self._itinerary

    @property
    def trial(self) -> TrialState:
        """The trial."""
        assert self._trial is not None
        return self._trial

    @property
    def view(self) -> TrialView:
        """The trial as it is drawn now; during one drawing it is the same for all who ask."""
        return self._drawn_view or self._view_now()

    def _view_now(self) -> TrialView:
        view = view_of(self.trial, self.host.clock.monotonic(), self.host.keys)
        if then := self.itinerary.value_then if self.host.settings.last_values else "":
            view = replace(view, caption=(*view.caption, then))
        return view if self.host.settings.flash else replace(view, flash=False)

    @property
    def trial_has_the_keys(self) -> bool:
        """Whether the trial must not be left now, or waits for a choice."""
        return self.trial.busy or bool(self.view.choices)

    def take_up(self, item: Item, cue: str = "") -> None:
        """Get a trial of a test ready."""
        host = self.host
        self.itinerary.item = item
        self._trial = TrialState.at(
            self.itinerary.spec,
            item.side,
            {sign.id: sign.label for sign in host.protocol.signs},
            host.controller.session.trials,
            cue,
            count_in=host.settings.count_in_s,
            set_up=self.set_up_so_far(),
        )
        self.said = self.itinerary.why_not
        self.redraw()

    def set_up_so_far(self) -> Noted:
        """What is noted for the next trial of the test at hand."""
        controller = self.host.controller
        return carried(self.itinerary.spec, controller.session.trials, controller.noted)

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
    def lists_keys(self) -> bool:
        return not self.trial_has_the_keys

    def head(self) -> tuple[Row, Row]:
        spec, controller = self.itinerary.spec, self.host.controller
        gone = int((self.host.clock.monotonic() - controller.since) / 60)
        left = f"{gone} min, {math.ceil(self.itinerary.minutes_left)} left"
        right = (self.itinerary.place, left, controller.session.client.label)
        fits = cells("  ".join((spec.name, *right))) < self.size.width - 2
        return screen_head(spec.name if fits else spec.short_name, *right)

    def draw(self, width: int, height: int) -> Drawn:
        return Drawn(draw_test(self.view, width, height))

    def notice(self) -> str:
        view = self.view
        return view.question or view.error or view.hint or self.said

    def hints(self) -> Sequence[KeyHint]:
        of_trial = [KeyHint(key, does, rank) for rank, (key, does) in enumerate(self.view.keys)]
        own = self.own_hints()
        if self.trial_has_the_keys:
            own = [hint for hint in own if hint.key == self.trial.keymap.key(self.ANY_TIME)]
        taken = {hint.key for hint in own}
        return (*(hint for hint in of_trial if hint.key not in taken), *own)

    def after_keeping(self) -> None:
        """What the screen does once a trial was kept and saved."""

    def own_hints(self) -> Sequence[KeyHint]:
        """What the screen's own keys do."""
        return ()

    def own_actions(self) -> Mapping[Action, Callable[[], object]]:
        """What the screen itself does, beside the trial."""
        return {}

    def hint(self, action: Action, does: str, rank: int) -> KeyHint:
        """What an action does now, with its key."""
        return KeyHint(self.trial.keymap.key(action), does, rank)

    def _own(self, key: str) -> Callable[[], object] | None:
        """What the screen itself does with a key; None where it does nothing."""
        does = self.own_actions()
        return next((does[each] for each in self.trial.keymap.actions(key) if each in does), None)

    def act_on_waiting(self, key: str) -> None:
        typed = actions.is_typed(self.trial, key)
        self.host.keys, passed = self.host.keys.before(key, typed=typed)
        self._let_through(passed)

    def take_key(self, key: str, event: events.Key) -> bool:
        if "+" in event.key[:-1] or (key == MORE_KEY and self.lists_keys):
            return False
        self.said = ""
        before, clock = self.trial, self.host.clock
        if self.ANY_TIME in before.keymap.actions(key):
            self.own_actions()[self.ANY_TIME]()
        elif actions.is_typed(before, key):
            self._act(key, event.time)
        elif self._own(key) is not None or actions.takes(before, key):
            now = clock.monotonic()
            if not self._is_own_now(key):
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
        """Do what a key means now that was let through, pressed at `t`."""
        own = self._own(key)
        if own is not None and self._is_own_now(key):
            if self.is_active:
                own()
        elif self.host.controller.session.full and not self.trial.unsaved:
            # Before a trial is begun, so that none is lost.
            self.said = FULL
        else:
            trial, self.host.keys = actions.press(self.trial, self.host.keys, key, t)
            self._moved(trial)

    def _is_own_now(self, key: str) -> bool:
        """Whether a key is for the screen itself, and not for the trial."""
        return self._own(key) is not None and not self.trial_has_the_keys

    @property
    def unsaved(self) -> bool:
        """Whether a trial is under way that would be struck out if the page were left."""
        return self._trial is not None and self._trial.unsaved

    def strike_out(self, reason: str) -> None:
        """Keep a trial that was begun as struck out, so that nothing is lost; the page is left."""
        if self.unsaved:
            trial = actions.strike_out(self._last(), reason, self.host.clock.monotonic())
            self._moved(trial, leaving=True)

    def keep_now(self) -> None:
        """Keep an ended trial as Enter does; the page is left."""
        trial = actions.keep_now(self._last(), self.host.clock.monotonic())
        self._moved(trial, leaving=True)

    def _last(self) -> TrialState:
        """The trial with all that was pressed, since it is left."""
        self.host.keys, passed = self.host.keys.flush()
        return actions.press_all(self.trial, passed)

    def _moved(self, trial: TrialState, *, leaving: bool = False) -> None:
        """Take the trial as it is now: ring, save a kept trial, draw."""
        self._trial = trial
        if trial.kept is not None:
            self.host.controller.add_trial(trial.kept)
            kept = kept_sentence(self.host.protocol, trial.kept)
            self.said = f"{kept} {self.host.controller.take_remark()}".strip()
            self._trial = trial.again()
            if not leaving:
                self.after_keeping()
                self.host.ask_about_trouble()
        elif trial.bell and self.host.settings.bell:
            self.host.bell()
        self.redraw()

    def redraw(self) -> None:
        if self._trial is None or self.gone:
            return
        self._mark_under_way()
        self._drawn_view = self._view_now()
        try:
            super().redraw()
        finally:
            self._drawn_view = None

    def _mark_under_way(self) -> None:
        """Have the file tell what would be lost if the program died now."""
        tells = what_tells(self.trial)
        if tells != self._told:
            self._told = tells
            self.host.controller.mark_under_way(under_way(self.trial))
