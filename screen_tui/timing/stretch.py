"""One stretch of time: a press starts it, a press ends it, and perhaps a limit closes it.

Holds, walks and single movements are stretches; each says what its limit is and what it means when
the stretch is stopped by hand.
"""

from dataclasses import dataclass, field, replace
from typing import ClassVar, Self

from screen_tui.timing.timer import FULL_TIME, GRACE_S, STOPPED_EARLY, Phase, Snapshot, Timer


@dataclass(frozen=True, slots=True)
class StretchTimer(Timer):
    """The mechanism of all timers that measure one stretch of time.

    Attributes:
        start: Time of the press that started, or None.
        end: Time at which a hand ended it, or None.
        abandoned: The end was a stop, before what is measured was complete.
        closed: The limit ended it.
    """

    stop_is_an_end: ClassVar[bool] = False
    """Whether stopping by hand is a proper end, as it is for a hold."""

    start: float | None = field(default=None, kw_only=True)
    end: float | None = field(default=None, kw_only=True)
    abandoned: bool = field(default=False, kw_only=True)
    closed: bool = field(default=False, kw_only=True)

    @property
    def longest_s(self) -> float | None:
        """Seconds after which the stretch is closed, or None."""
        return None

    @property
    def deadline(self) -> float | None:
        """Time of the limit, or None before the start and for a stretch without one."""
        if self.start is None or self.longest_s is None:
            return None
        return self.start + self.longest_s

    @property
    def phase(self) -> Phase:
        if self.start is None:
            return Phase.READY
        return Phase.ENDED if self.closed or self.end is not None else Phase.RUNNING

    @property
    def started(self) -> float | None:
        return self.start

    @property
    def capped(self) -> bool:
        return self.closed

    @property
    def incomplete(self) -> bool:
        return self.abandoned

    @property
    def value(self) -> float | None:
        if self.closed:
            return self.longest_s
        if self.end is None or self.abandoned:
            return None
        return self._elapsed(self.end)

    def press(self, t: float) -> Self:
        """Start, or end at `t`; a press stamped after the limit closes at the limit.

        A press stamped at or before the limit ends the stretch at its own time even when the limit
        has closed it meanwhile.
        """
        if self.start is None:
            return replace(self, start=t)
        return self if self.end is not None else self._end_at(t, abandoned=False)

    def stop(self, t: float) -> Self:
        if self.phase is not Phase.RUNNING:
            return self
        return self._end_at(t, abandoned=not self.stop_is_an_end)

    def tick(self, now: float) -> Self:
        if self.phase is not Phase.RUNNING or self.deadline is None:
            return self
        return replace(self, closed=True) if now >= self.deadline + GRACE_S else self

    def snapshot(self, now: float) -> Snapshot:
        elapsed = self._elapsed(now if self.end is None else self.end)
        if self.closed and self.longest_s is not None:
            elapsed = self.longest_s
        return Snapshot(
            phase=self.phase,
            elapsed=elapsed,
            remaining=None if self.longest_s is None else max(self.longest_s - elapsed, 0.0),
            target_reached=self.closed,
            note=self._note(),
        )

    def _end_at(self, t: float, *, abandoned: bool) -> Self:
        if self.deadline is not None and t > self.deadline:
            return replace(self, closed=True)
        end = t if self.start is None else max(t, self.start)
        return replace(self, end=end, abandoned=abandoned, closed=False)

    def _elapsed(self, at: float) -> float:
        if self.start is None:
            return 0.0
        elapsed = max(at - self.start, 0.0)
        return elapsed if self.longest_s is None else min(elapsed, self.longest_s)

    def _note(self) -> str:
        if self.abandoned:
            return STOPPED_EARLY
        return FULL_TIME if self.closed else ""
