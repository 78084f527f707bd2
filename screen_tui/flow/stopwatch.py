"""The timer of a test, and what it is called on the screen."""

from __future__ import annotations

from screen_tui.protocol import timers as kinds
from screen_tui.timing import (
    CountInTimeTimer,
    HoldTimer,
    OnceTimer,
    RepeatHoldTimer,
    StepsTimer,
    TimeForCountTimer,
    Timer,
    WalkTimer,
)


def timer_for(timer: kinds.Timer, steps: int | None = None) -> Timer | None:
    """Give a timer that is ready; None for the kinds that are not timed.

    Args:
        timer: How the test is timed.
        steps: Steps of the flight at hand, where it is not the one the protocol has in mind.
    """
    match timer:
        case kinds.Hold():
            return HoldTimer(timer.cap_s)
        case kinds.CountInTime():
            asks = timer.half_question is not None
            return CountInTimeTimer(timer.window_s, timer.min_split_s, asks_half=asks)
        case kinds.TimeForCount():
            return TimeForCountTimer(timer.count, timer.min_split_s)
        case kinds.Steps():
            return StepsTimer(steps or timer.steps, timer.min_split_s)
        case kinds.Walk():
            return WalkTimer(timer.distance_m)
        case kinds.Once():
            return OnceTimer()
        case kinds.RepeatHold():
            return RepeatHoldTimer(timer.holds, timer.hold_s)
        case kinds.Quality() | kinds.Measure():
            return None


def counts(timer: kinds.Timer) -> bool:
    """Whether the value is a number of repetitions or holds, not a time."""
    return isinstance(timer, kinds.CountInTime | kinds.RepeatHold)


def min_split(timer: kinds.Timer) -> float | None:
    """The fastest plausible repetition, for the kinds that count them."""
    if isinstance(timer, kinds.CountInTime | kinds.TimeForCount | kinds.Steps):
        return timer.min_split_s
    return None


def target_in_words(timer: kinds.Timer, steps: int | None = None) -> str:
    """Say what a trial runs to, in one short phrase; "" where there is nothing to run to."""
    match timer:
        case kinds.Hold():
            return f"up to {timer.cap_s:g} s"
        case kinds.CountInTime():
            return f"as many as possible in {timer.window_s:g} s"
        case kinds.TimeForCount():
            end = "seated" if timer.end_point == "sit" else "standing"
            return f"{timer.count} times, ends {end} after the last"
        case kinds.Steps():
            return f"{steps or timer.steps} steps"
        case kinds.Walk():
            return f"{timer.distance_m:g} m from a {timer.start} start"
        case kinds.Once():
            return "timed once, from go to its end"
        case kinds.RepeatHold():
            return f"{timer.holds} holds of {timer.hold_s:g} s"
        case kinds.Quality():
            return f"{timer.repetitions} slow repetitions; mark what is seen"
        case kinds.Measure():
            return ""
