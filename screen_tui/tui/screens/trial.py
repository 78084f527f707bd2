"""One trial on the screen: `trial` takes the time; this hands it keys and draws it."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import replace

from textual import events

from screen_tui.session.model import MOST_TRIALS
from screen_tui.timing.key_filter import KeyFilter, Passed
from screen_tui.trial import actions
from screen_tui.trial.battery import Item
from screen_tui.trial.keymap import Action
from screen_tui.trial.set_up import Noted, carried
from screen_tui.trial.state import TrialState
from screen_tui.trial.under_way import under_way, what_tells
from screen_tui.trial.view import TrialView, view_of
from screen_tui.tui.drawing.rows import Row, cells
from screen_tui.tui.drawing.test import draw_test
from screen_tui.tui.drawing.words import kept_sentence
from screen_tui.tui.itinerary import Itinerary
from screen_tui.tui.keybar import KeyHint
from screen_tui.tui.screens.page import LEAVE_KEYS, MORE_KEY, STOP_KEY, Drawn, Page, page_head

TICK_S = 0.1

FULL = (
    f"This screen holds {MOST_TRIALS:,} trials, and one holds no more. g shows its result; begin "
    "another screen for more trials."
)


class TrialPage(Page[None]):
    """Draws the trial and gives it every key that is not the screen's own.

    Args:
        wanted: The test to begin with; None for the first that is still to do.
        cue: The cue of a repeat, or "".
        told: What is to be said first.
    """

    STEADY_NOTICE = 1
    STEADY_KEYS = 2
    ANY_TIME = Action.STOP
    """The one thing the screen itself does while a trial runs."""

    def __init__(self, wanted: Item | None = None, cue: str = "", told: str = "") -> None:
        super().__init__()
        self._wanted = (wanted, cue)
        self._itinerary: Itinerary | None = None
        self._trial: TrialState | None = None
        self._ways = KeyFilter()
        self._told: Hashable = None
        self._drawn_view: TrialView | None = None
        self.said = told

    def on_mount(self) -> None:
        """Take up the first test, and let the display run."""
        wanted, cue = self._wanted
        self._itinerary = Itinerary(self.host.keeper, wanted)
        told = self.said
        self.take_up(self._itinerary.item, cue)
        self.said = f"{told} {self.said}".strip()
        self._see_last_key()
        if self.host.ticking:
            self.set_interval(TICK_S, self.tick)

    def on_screen_resume(self) -> None:
        """Draw again; the key that left the page on top may be held still, and must not act."""
        self._see_last_key()
        super().on_screen_resume()

    def _see_last_key(self) -> None:
        if self.host.last_key is not None and self._trial is not None:
            self._ways = self._ways.saw(*self.host.last_key)
            self._trial = actions.saw(self._trial, *self.host.last_key)

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
        view = view_of(self.trial, self.host.clock.monotonic())
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
            host.keeper.session.trials,
            cue,
            count_in=host.settings.count_in_s,
            keys=self._trial.keys if self._trial is not None else None,
            set_up=self.set_up_so_far(),
        )
        self.said = self.itinerary.why_not
        self.redraw()

    def set_up_so_far(self) -> Noted:
        """What is noted for the next trial of the test at hand."""
        keeper = self.host.keeper
        return carried(self.itinerary.spec, keeper.session.trials, keeper.noted)

    def tick(self) -> None:
        """Let time pass on the display; what is recorded comes from key presses."""
        if self.gone:
            return  # what waits at its gates has no trial any more
        clock = self.host.clock
        self._ways, passed = self._ways.poll(clock.monotonic())
        self._go(passed)
        self._moved(actions.tick(self.trial, clock.monotonic(), clock.wall()))

    def on_app_blur(self) -> None:
        """Note that keys may have gone elsewhere."""
        if self._trial is not None:
            self._trial = actions.blurred(self._trial)

    @property
    def lists_keys(self) -> bool:
        return not self.trial_has_the_keys

    def head(self) -> tuple[Row, Row]:
        spec, keeper = self.itinerary.spec, self.host.keeper
        gone = int((self.host.clock.monotonic() - keeper.since) / 60)
        left = f"{gone} min, {math.ceil(self.itinerary.minutes_left)} left"
        right = (self.itinerary.place, left, keeper.session.client.label)
        fits = cells("  ".join((spec.name, *right))) < self.size.width - 2
        return page_head(spec.name if fits else spec.short_name, *right)

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

    def take_key(self, key: str, event: events.Key) -> bool:
        if "+" in event.key[:-1] or (key == MORE_KEY and self.lists_keys):
            return False
        self.said = ""
        own = self._own(key)
        if self.ANY_TIME in self.trial.keymap.actions(key):
            self.own_actions()[self.ANY_TIME]()
        elif own is not None and not self.trial_has_the_keys:
            # A key held down goes one way once, and not from test to test.
            self._ways, passed = self._ways.press(key, event.time)
            self._go(passed)
        elif self.host.keeper.session.full and not self.trial.unsaved:
            # Before a trial is begun, so that none is lost.
            self.said = FULL
        else:
            if own is not None:
                # The trial takes it now; held on, it goes no way of the screen after that.
                self._ways = self._ways.saw(key, event.time)
            before = actions.before_typing(self.trial, event.key, event.character)
            if before is not self.trial:
                self._moved(before)
            handled_at = self.host.clock.monotonic()
            wall = self.host.clock.wall()
            key_of_trial = (event.key, event.character, event.time, handled_at, wall)
            self._moved(actions.take_key(self.trial, *key_of_trial))
        return True

    def before_key(self, key: str) -> None:
        own = self._own(key) is not None
        if not own or key not in (self._ways.other, "space"):
            self._ways, passed = self._ways.flush()
            self._go(passed)
        for_the_page = (own or key == MORE_KEY) and not self.trial_has_the_keys
        if self.is_active and (for_the_page or key in (STOP_KEY, *LEAVE_KEYS)):
            settled = actions.settled(self.trial)
            if settled is not self.trial:
                self._moved(settled)

    def _go(self, passed: Passed) -> None:
        """Do what the screen's own keys do that came through their gate."""
        for key, _ in passed:
            # By now the key may mean nothing any more.
            way = self._own(key)
            if way is not None and self.is_active and not self.trial_has_the_keys:
                way()

    @property
    def unsaved(self) -> bool:
        """Whether a trial is under way that would be struck out if the page were left."""
        return self._trial is not None and self._trial.unsaved

    def strike_out(self, reason: str) -> None:
        """Keep a trial that was begun as struck out, so that nothing is lost; the page is left."""
        if self.unsaved:
            struck_out = actions.strike_out(self.trial, reason, self.host.clock.monotonic())
            self._moved(struck_out, leaving=True)

    def keep_now(self) -> None:
        """Keep an ended trial as Enter does; the page is left."""
        self._moved(actions.keep_now(self.trial, self.host.clock.monotonic()), leaving=True)

    def _moved(self, trial: TrialState, *, leaving: bool = False) -> None:
        """Take the trial as it is now: ring, save a kept trial, draw."""
        self._trial = trial
        if trial.kept is not None:
            self.host.keeper.keep_trial(trial.kept)
            kept = kept_sentence(self.host.protocol, trial.kept)
            self.said = f"{kept} {self.host.keeper.take_remark()}".strip()
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
            self.host.keeper.mark_under_way(under_way(self.trial))
