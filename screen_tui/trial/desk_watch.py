"""What may have disturbed the timing of a trial, and what has to be asked because of it.

While the computer stood still no key was read and no bell rang, so the value of a trial that ran on
meanwhile may be wrong. Only who watched knows; until they say so it is in doubt, and what is in
doubt is not kept.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from screen_tui.timing import CLOCK_DIFFERENCE_S, Phase

if TYPE_CHECKING:
    from screen_tui.trial.desk import Desk

_TENTHS_UP_TO_S = 10
_SECONDS_UP_TO_S = 600


def fresh_watch(before: Desk, after: Desk) -> Desk:
    """Begin to watch the timing anew where the timer has started in between."""
    start = after.made.timer.started
    if before.made.phase is Phase.READY and start is not None:
        return replace(after, watch=after.watch.begun(start))
    return after


def watched(desk: Desk, now: float, wall: datetime | None) -> Desk:
    """Note that the program is at work, before anything is done at a tick or with a key.

    Args:
        desk: A trial.
        now: Monotonic seconds.
        wall: The date and time, to notice that the computer slept; None where nobody asks.
    """
    phase, clocks = desk.made.phase, desk.clocks
    watch = desk.watch.tick(now) if desk.made.running else desk.watch.idle(now)
    if wall is not None and (clocks is None or phase is Phase.READY):
        # Read anew up to the start, from which on the two clocks are compared.
        clocks = (wall, now)
    elif wall is not None and clocks is not None and phase is Phase.RUNNING:
        watch = watch.wall(clocks[0], wall, clocks[1], now)
    return replace(desk, watch=watch, clocks=clocks)


def in_doubt(desk: Desk) -> bool:
    """Whether an ended trial has a value over which the computer stood still, not confirmed yet."""
    timer = desk.made.timer
    if timer.phase is not Phase.ENDED or desk.made.confirmed:
        return False
    return timer.value is not None and stood_still_s(desk) > 0


def stood_still_s(desk: Desk) -> float:
    """Seconds the computer stood still in the trial so far; 0 where it did not."""
    if not desk.made.clocked or desk.made.phase is Phase.READY:
        return 0.0
    end = desk.made.timer.ended
    return desk.watch.stood_still_s(float("inf") if end is None else end)


def disturbance(desk: Desk) -> str:
    """That the computer stood still in the trial, for how long, or that its clock was set.

    Words without a full stop; "" where there is nothing to say.
    """
    if not desk.made.clocked or desk.made.phase is Phase.READY:
        return ""
    still, ahead = stood_still_s(desk), desk.watch.wall_ahead_s
    if still and ahead > CLOCK_DIFFERENCE_S:
        return f"the computer slept for {_long(still)}, or its clock was set forward"
    parts = [f"the computer stood still for {_long(still)}"] if still else []
    if ahead < -CLOCK_DIFFERENCE_S:
        parts.append(
            f"the computer's clock was set back by {_long(-ahead)}; the timer does not use it"
        )
    return "; ".join(parts)


def doubt(desk: Desk) -> str:
    """The question whether the value is right; "" where it is not asked."""
    if not in_doubt(desk):
        return ""
    what = "count" if desk.spec.timer.counts else "time"
    said = disturbance(desk)
    return f"During this trial {said}. Is the {what} right? y: watched to the end; n: strike it out"


def disturbance_noted(desk: Desk) -> str:
    """The same for the record, and whether the value was confirmed."""
    said = disturbance(desk)
    if not (said and desk.made.confirmed):
        return said
    return f"{said}; the {'count' if desk.spec.timer.counts else 'time'} was confirmed"


def _long(seconds: float) -> str:
    """A length of time, as precise as it is worth."""
    if seconds < _TENTHS_UP_TO_S:
        return f"{seconds:.1f} s"
    return f"{seconds:.0f} s" if seconds < _SECONDS_UP_TO_S else f"{seconds / 60:.0f} min"
