"""The two clocks of the program, as one seam that can be replaced.

Durations come from the monotonic clock, dates from the wall clock; the two are never mixed. Whoever
needs the time is given a `Clock`; nothing else in the program asks the operating system for it.
"""

import time
from datetime import datetime, timedelta, timezone
from typing import Protocol

_FAKE_WALL = datetime(2026, 3, 2, 9, 15, tzinfo=timezone(timedelta(hours=1)))


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
        """Return the seconds of the finest monotonic clock there is."""
        return time.perf_counter()

    def wall(self) -> datetime:
        """Return the local date and time, with its offset from UTC."""
        return datetime.now().astimezone()


class FakeClock:
    """A clock that stands still until it is moved.

    It ships with the package, for tests, for demonstrations and for anyone who builds on the
    timers: a trial of thirty seconds then takes no time, and comes out the same on every run.

    Args:
        start: First reading of `monotonic`, in seconds.
        wall: First reading of `wall`; must carry its offset from UTC.

    Raises:
        ValueError: If `wall` carries no offset from UTC.
    """

    def __init__(self, start: float = 100.0, wall: datetime = _FAKE_WALL) -> None:
        if wall.utcoffset() is None:
            raise ValueError("the wall time of a clock needs an offset from UTC")
        self._monotonic = start
        self._wall = wall

    def monotonic(self) -> float:
        """Return the seconds this clock has been moved to."""
        return self._monotonic

    def wall(self) -> datetime:
        """Return the date and time this clock has been moved to."""
        return self._wall

    def advance(self, seconds: float) -> None:
        """Let time pass on both clocks.

        Args:
            seconds: How much; zero or more.

        Raises:
            ValueError: If `seconds` is negative: no clock of this program goes back.
        """
        if seconds < 0:
            raise ValueError(f"a clock does not go back: {seconds} s")
        self._monotonic += seconds
        self._wall += timedelta(seconds=seconds)
