"""Drive a trial by (key, time) pairs, with the display ticking ten times a second in between."""

from __future__ import annotations

from typing import Any

from flow_protocol import SIGNS, make_spec

from screen_tui.session.model import Trial
from screen_tui.trial.desk import Desk


def desk_for(kind: str, before: tuple[Trial, ...] = (), **changes: Any) -> Desk:
    options = {name: changes.pop(name) for name in ("cue", "count_in") if name in changes}
    spec = make_spec(kind, **changes)
    side = "left" if spec.sided else None
    return Desk.at(spec, side, SIGNS, before, **options)


def until(desk: Desk, now: float, since: float) -> Desk:
    """Tick from one time to another."""
    for tenth in range(1, int((now - since) * 10) + 1):
        desk = desk.tick(since + tenth / 10)
    return desk


def press(desk: Desk, *events: tuple[str, float], settle: float = 0.5) -> Desk:
    """Press keys at their times, in order, ticking in between and a moment after."""
    ticked = desk.watch.last_tick
    last = events[0][1] if ticked is None else ticked
    for key, t in events:
        desk = until(desk, t, last)
        desk = desk.key(key, key if len(key) == 1 else None, t, t + 0.01)
        last = t
    return until(desk, last + settle, last)


def kept(desk: Desk) -> Trial:
    assert desk.kept is not None, desk.view(0.0)
    return desk.kept
