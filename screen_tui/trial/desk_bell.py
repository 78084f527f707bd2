"""When a trial rings: at the start after a count-in, at its target, and at its end."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screen_tui.timing import Timer

if TYPE_CHECKING:
    from screen_tui.trial.desk import Desk


def rung(before: Desk, after: Desk, now: float) -> Desk:
    """Ring when the timer started by itself, reached its target, or ended since `before`."""
    was, now_is = before.made.timer, after.made.timer
    gone = before.made.counting_in and after.made.running
    if gone or _reached(was, now_is, now):
        return replace(after, bell=True, rang_at=now)
    return after


def _reached(was: Timer, now_is: Timer, now: float) -> bool:
    earlier, later = was.snapshot(now), now_is.snapshot(now)
    if not was.over and now_is.over:
        return True
    if len(later.splits) < len(earlier.splits):
        return False
    return later.target_reached and not earlier.target_reached
