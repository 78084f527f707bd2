"""What may have disturbed the timing of a trial, and what has to be asked because of it.

While the computer stood still no key was read and no bell rang, so the value of a trial that ran on
meanwhile may be wrong. Only who watched knows; until they say so it is in doubt, and what is in
doubt is not kept.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from screen_tui.timing import CLOCK_DIFFERENCE_S, Phase
from screen_tui.trial.state import TrialState

_TENTHS_UP_TO_S = 10
_SECONDS_UP_TO_S = 600


def fresh_watch(before: TrialState, after: TrialState) -> TrialState:
    """Begin to watch the timing anew where the timer has started in between."""
    start = after.input.timer.started
    if before.input.phase is Phase.READY and start is not None:
        return replace(after, watch=after.watch.begun(start))
    return after


def watched(state: TrialState, now: float, wall: datetime | None) -> TrialState:
    """Note that the program is at work, before anything is done at a tick or with a key.

    Args:
        state: A trial.
        now: Monotonic seconds.
        wall: The date and time, to notice that the computer slept; None where nobody asks.
    """
    phase, clocks = state.input.phase, state.clocks
    watch = state.watch.tick(now) if state.input.running else state.watch.idle(now)
    if wall is not None and (clocks is None or phase is Phase.READY):
        # Read anew up to the start, from which on the two clocks are compared.
        clocks = (wall, now)
    elif wall is not None and clocks is not None and phase is Phase.RUNNING:
        watch = watch.wall(clocks[0], wall, clocks[1], now)
    return replace(state, watch=watch, clocks=clocks)


def disturbance(state: TrialState) -> str:
    """That the computer stood still in the trial, for how long, or that its clock was set.

    Words without a full stop; "" where there is nothing to say.
    """
    if not state.spec.timer.clocked or state.input.phase is Phase.READY:
        return ""
    still, ahead = state.stood_still_s, state.watch.wall_ahead_s
    if still and ahead > CLOCK_DIFFERENCE_S:
        return f"the computer slept for {_long(still)}, or its clock was set forward"
    parts = [f"the computer stopped for {_long(still)}"] if still else []
    if ahead < -CLOCK_DIFFERENCE_S:
        parts.append(
            f"the computer's clock was set back by {_long(-ahead)}; the timer does not use it"
        )
    return "; ".join(parts)


def doubt(state: TrialState) -> str:
    """The question whether the value is right; "" where it is not asked."""
    if not state.in_doubt:
        return ""
    what = "count" if state.spec.timer.counts else "time"
    said = disturbance(state)
    return f"During this trial {said}. Is the {what} right?"


def disturbance_noted(state: TrialState) -> str:
    """The same for the record, and whether the value was confirmed."""
    said = disturbance(state)
    if not (said and state.input.confirmed):
        return said
    return f"{said}; the {'count' if state.spec.timer.counts else 'time'} was confirmed"


def _long(seconds: float) -> str:
    """A length of time, as precise as it is worth."""
    if seconds < _TENTHS_UP_TO_S:
        return f"{seconds:.1f} s"
    return f"{seconds:.0f} s" if seconds < _SECONDS_UP_TO_S else f"{seconds / 60:.0f} min"
