"""Stopwatches and counters as values: every call takes the time, none reads a clock."""

from screen_tui.timing.keygate import KeyGate
from screen_tui.timing.quality import CLOCK_DIFFERENCE_S, Flag, TrustWatch
from screen_tui.timing.timer import GRACE_S, Phase, Snapshot, Timer

__all__ = [
    "CLOCK_DIFFERENCE_S",
    "GRACE_S",
    "Flag",
    "KeyGate",
    "Phase",
    "Snapshot",
    "Timer",
    "TrustWatch",
]
