"""Stopwatches and counters as values: every call takes the time, none reads a clock."""

from screen_tui.timing.count_in_time import CountInTimeTimer
from screen_tui.timing.fixed_count import StepsTimer, TimeForCountTimer
from screen_tui.timing.hold import HoldTimer
from screen_tui.timing.keygate import KeyGate
from screen_tui.timing.once import OnceTimer
from screen_tui.timing.quality import CLOCK_DIFFERENCE_S, Flag, TrustWatch
from screen_tui.timing.repeat_hold import RepeatHoldTimer
from screen_tui.timing.timer import GRACE_S, Phase, Snapshot, Timer
from screen_tui.timing.walk import WalkTimer

__all__ = [
    "CLOCK_DIFFERENCE_S",
    "GRACE_S",
    "CountInTimeTimer",
    "Flag",
    "HoldTimer",
    "KeyGate",
    "OnceTimer",
    "Phase",
    "RepeatHoldTimer",
    "Snapshot",
    "StepsTimer",
    "TimeForCountTimer",
    "Timer",
    "TrustWatch",
    "WalkTimer",
]
