"""The two clocks of the program, as one seam that can be replaced.

Durations come from the monotonic clock, dates from the wall clock; the two are never mixed. Whoever
needs the time is given a `Clock`; nothing else in the program asks the operating system for it.
"""

import time
from datetime import datetime
from typing import Protocol


class Clock(Protocol):
    """What the program asks of a clock."""

    def monotonic(self) -> float:
        """Return seconds since an arbitrary moment; never goes back, for durations only."""
        ...

    def wall(self) -> datetime:
        """Return the local date and time, with its offset from UTC."""
        ...


class SystemClock:
    """The clock of the computer.

    `monotonic` has the same zero as the stamps on key presses, so that the two can be subtracted.
    """

    def monotonic(self) -> float:
        return time.perf_counter()

    def wall(self) -> datetime:
        return datetime.now().astimezone()
