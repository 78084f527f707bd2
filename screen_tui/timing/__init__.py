"""Stopwatches and counters as values: every call takes the time, none reads a clock."""

from screen_tui.timing.key_filter import KeyFilter
from screen_tui.timing.timer import GRACE_S, Phase, Timer
from screen_tui.timing.trust import CLOCK_DIFFERENCE_S, Flag, TrustWatch

__all__ = [
    "CLOCK_DIFFERENCE_S",
    "GRACE_S",
    "Flag",
    "KeyFilter",
    "Phase",
    "Timer",
    "TrustWatch",
]
