"""What replaces a stopwatch where nothing is timed: repetitions that are only watched."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

from screen_tui.timing.timer import Phase, Snapshot, Timer


@dataclass(frozen=True, slots=True)
class Untimed(Timer):
    """Counts what is watched, up to a number; nothing runs, and it can be saved at any time.

    Attributes:
        target: How many repetitions are watched; 0 for none.
        count: How many were.
        start: Time of the first of them, or None.
    """

    target: int = 0
    count: int = 0
    start: float | None = None

    @property
    def phase(self) -> Phase:
        return Phase.READY if self.target and not self.count else Phase.ENDED

    @property
    def started(self) -> float | None:
        return self.start

    @property
    def going_on(self) -> bool:
        return self.start is not None

    @property
    def over(self) -> bool:
        return True

    def press(self, t: float) -> Self:
        if self.count >= self.target:
            return self
        return replace(self, count=self.count + 1, start=t if self.start is None else self.start)

    def snapshot(self, now: float) -> Snapshot:
        del now
        done = self.target > 0 and self.count == self.target
        return Snapshot(phase=self.phase, elapsed=0.0, count=self.count, target_reached=done)
