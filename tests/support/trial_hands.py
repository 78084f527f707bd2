"""One trial in the hands of a test: the state with what is done to it, one call after another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from screen_tui.fields import Side
from screen_tui.protocol.knowledge import Sign
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Trial
from screen_tui.timing.key_filter import KeyFilter, Passed
from screen_tui.trial import actions
from screen_tui.trial.keymap import action_key
from screen_tui.trial.state import TrialState, watched
from screen_tui.trial.view import TrialView, view_of


@dataclass(frozen=True)
class TrialHands:
    """A trial; every call gives the trial that follows. What is asked of the state is its own."""

    state: TrialState
    keys: KeyFilter = field(default_factory=KeyFilter)

    @classmethod
    def at(
        cls,
        spec: TestSpec,
        side: Side | None,
        signs: Iterable[Sign],
        before: tuple[Trial, ...] = (),
        cue: str = "",
        **options: Any,
    ) -> TrialHands:
        return cls(TrialState.at(spec, side, signs, before, cue, **options))

    def __getattr__(self, name: str) -> Any:
        return getattr(self.state, name)

    def view(self, now: float) -> TrialView:
        return view_of(self.state, now, self.keys)

    def again(self) -> TrialHands:
        return replace(self, state=self.state.again())

    def key(
        self,
        key: str,
        character: str | None,
        t: float,
        handled_at: float,
        wall: datetime | None = None,
    ) -> TrialHands:
        name = action_key(key, character)
        if self.state.record is not None:
            return self
        typed = actions.is_typed(self.state, name)
        if not typed and not actions.takes(self.state, name):
            return replace(self, state=replace(self.state, bell=False))
        keys, passed = self.keys.before(name, typed=typed)
        if typed:
            return replace(self, keys=keys)._pressed((*passed, (name, t)))
        keys, let_through = keys.press(name, t)
        state = watched(self.state, handled_at, wall)
        after = replace(self, state=state, keys=keys)._pressed((*passed, *let_through))
        return replace(after, state=actions.handled(state, after.state, t, handled_at))

    def tick(self, now: float, wall: datetime | None = None) -> TrialHands:
        if self.state.record is not None:
            return self
        keys, passed = self.keys.poll(now)
        noted = replace(self.state, bell=False)
        pressed = replace(self, state=watched(noted, now, wall), keys=keys)._pressed(passed)
        ticked = actions.tick(pressed.state, now)
        return replace(pressed, state=replace(ticked, bell=ticked.bell or pressed.state.bell))

    def _pressed(self, passed: Passed) -> TrialHands:
        state, keys, bell = self.state, self.keys, False
        for key, t in passed:
            if state.record is None:
                state, keys = actions.press(state, keys, key, t)
                bell = bell or state.bell
        return TrialHands(replace(state, bell=bell), keys)

    def saw(self, key: str, t: float) -> TrialHands:
        return replace(self, keys=self.keys.seen(key, t))

    def blur(self) -> TrialHands:
        return replace(self, state=actions.blurred(self.state))

    def struck_out(self, reason: str, t: float) -> TrialHands:
        keys, passed = self.keys.flush()
        state = actions.press_all(self.state, passed)
        return TrialHands(actions.strike_out(state, reason, t), keys)

    def saved_now(self, t: float) -> TrialHands:
        keys, passed = self.keys.flush()
        return TrialHands(actions.save_now(actions.press_all(self.state, passed), t), keys)

    def with_set_up(self, noted: Mapping[Any, Any]) -> TrialHands:
        return replace(self, state=replace(self.state, set_up=noted))
