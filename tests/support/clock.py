"""A clock that stands still until it is moved: a trial of thirty seconds then takes no time."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

_WALL = datetime(2026, 3, 2, 9, 15, tzinfo=timezone(timedelta(hours=1)))


class FakeClock:
    """Shows the times it was moved to.

    Args:
        start: First reading of `monotonic`, in seconds.
        wall: First reading of `wall`.
    """

    def __init__(self, start: float = 100.0, wall: datetime = _WALL) -> None:
        self._monotonic = start
        self._wall = wall

    def monotonic(self) -> float:
        """The seconds this clock has been moved to."""
        return self._monotonic

    def wall(self) -> datetime:
        """The date and time this clock has been moved to."""
        return self._wall

    def advance(self, seconds: float) -> None:
        """Let time pass on both clocks; neither goes back."""
        assert seconds >= 0
        self._monotonic += seconds
        self._wall += timedelta(seconds=seconds)
