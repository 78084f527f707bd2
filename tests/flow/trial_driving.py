"""Drive a trial by (key, time) pairs, with the display ticking ten times a second in between."""

from __future__ import annotations

from typing import Any

from flow_protocol import SIGNS, make_spec
from support.trial_hands import TrialHands

from screen_tui.session.model import Trial


def trial_for(kind: str, before: tuple[Trial, ...] = (), **changes: Any) -> TrialHands:
    options = {name: changes.pop(name) for name in ("cue", "count_in") if name in changes}
    spec = make_spec(kind, **changes)
    side = "left" if spec.sided else None
    return TrialHands.at(spec, side, SIGNS, before, **options)


def until(state: TrialHands, now: float, since: float) -> TrialHands:
    """Tick from one time to another."""
    for tenth in range(1, int((now - since) * 10) + 1):
        state = state.tick(since + tenth / 10)
    return state


def press(state: TrialHands, *events: tuple[str, float], settle: float = 0.5) -> TrialHands:
    """Press keys at their times, in order, ticking in between and a moment after."""
    ticked = state.watch.last_tick
    last = events[0][1] if ticked is None else ticked
    for key, t in events:
        state = until(state, t, last)
        state = state.key(key, key if len(key) == 1 else None, t, t + 0.01)
        last = t
    return until(state, last + settle, last)


def kept(state: TrialHands) -> Trial:
    assert state.record is not None, state.view(0.0)
    return state.record
