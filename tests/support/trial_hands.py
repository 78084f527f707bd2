"""One trial in the hands of a test: the state with what is done to it, one call after another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from screen_tui.fields import Side
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Trial
from screen_tui.trial import actions
from screen_tui.trial.state import TrialState
from screen_tui.trial.view import TrialView, view_of


@dataclass(frozen=True)
class TrialHands:
    """A trial; every call gives the trial that follows. What is asked of the state is its own."""

    state: TrialState

    @classmethod
    def at(
        cls,
        spec: TestSpec,
        side: Side | None,
        labels: Mapping[str, str],
        before: tuple[Trial, ...] = (),
        cue: str = "",
        **options: Any,
    ) -> TrialHands:
        return cls(TrialState.at(spec, side, labels, before, cue, **options))

    def __getattr__(self, name: str) -> Any:
        return getattr(self.state, name)

    def view(self, now: float) -> TrialView:
        return view_of(self.state, now)

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
        return TrialHands(actions.take_key(self.state, key, character, t, handled_at, wall))

    def before(self, key: str, character: str | None) -> TrialHands:
        return TrialHands(actions.before_typing(self.state, key, character))

    def tick(self, now: float, wall: datetime | None = None) -> TrialHands:
        return TrialHands(actions.tick(self.state, now, wall))

    def saw(self, key: str, t: float) -> TrialHands:
        return TrialHands(actions.saw(self.state, key, t))

    def blur(self) -> TrialHands:
        return TrialHands(actions.blurred(self.state))

    def struck_out(self, reason: str, t: float) -> TrialHands:
        return TrialHands(actions.strike_out(self.state, reason, t))

    def kept_now(self, t: float) -> TrialHands:
        return TrialHands(actions.keep_now(self.state, t))

    def with_set_up(self, noted: Mapping[Any, Any]) -> TrialHands:
        return TrialHands(self.state.with_set_up(noted))
