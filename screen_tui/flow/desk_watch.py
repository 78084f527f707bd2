"""What may have disturbed the timing of a trial, watched while it runs."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from screen_tui.timing import Phase, TrustWatch

if TYPE_CHECKING:
    from screen_tui.flow.desk import Desk


def fresh_watch(before: Desk, after: Desk) -> Desk:
    """Begin to watch the timing anew where the timer has started in between."""
    if before.made.phase is Phase.READY and after.made.phase is not Phase.READY:
        return replace(after, watch=TrustWatch(), wall_start=None)
    return after


def watched(desk: Desk, now: float, wall: datetime | None) -> Desk:
    """Let time pass under the eyes of the watch.

    Args:
        desk: A trial that runs.
        now: Monotonic seconds.
        wall: The date and time, to notice that the computer slept; None where nobody asks.
    """
    watch, wall_start = desk.watch.tick(now), desk.wall_start
    if wall is not None and wall_start is None:
        wall_start = (wall, now)
    elif wall is not None and wall_start is not None:
        watch = watch.wall(wall_start[0], wall, wall_start[1], now)
    return replace(desk, watch=watch, wall_start=wall_start)
