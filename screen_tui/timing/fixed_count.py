"""How long a set number of repetitions or steps takes."""

from dataclasses import dataclass, replace
from typing import Self

from screen_tui.timing.repetitions import CountingTimer
from screen_tui.timing.timer import (
    STOPPED_EARLY,
    TOO_FAST,
    Phase,
    Snapshot,
    require_not_negative,
    require_positive,
)


@dataclass(frozen=True, slots=True)
class FixedCountTimer(CountingTimer):
    """A press starts, each press counts one, and the last of the set number ends.

    Its value is the seconds from the start to that last press. Stopped before, it has no value but
    keeps its count and splits.

    Attributes:
        target: How many there are to be.
        min_split_s: Fewer seconds than this from one to the next are not plausible; such a press is
            ignored.

    Raises:
        ValueError: If the target is not above zero or the smallest split is negative.
    """

    target: int
    min_split_s: float

    def __post_init__(self) -> None:
        require_positive("the number to count to", self.target)
        require_not_negative("the smallest split", self.min_split_s)

    @property
    def complete(self) -> bool:
        return self.counted >= self.target

    @property
    def value(self) -> float | None:
        return self.splits[-1] if self.complete else None

    def press(self, t: float) -> Self:
        if self.phase is Phase.ENDED:
            return self
        return replace(self, log=self.log.add(t, self.min_split_s))

    def snapshot(self, now: float) -> Snapshot:
        if self.value is not None:
            elapsed = self.value
        else:
            elapsed = self.log.elapsed(now if self.stopped is None else self.stopped)
        return Snapshot(
            phase=self.phase,
            elapsed=elapsed,
            count=self.counted,
            splits=self.splits,
            target_reached=self.complete,
            note=self._note(),
        )

    def _note(self) -> str:
        if self.incomplete:
            return STOPPED_EARLY
        return TOO_FAST if self.log.last_ignored else ""
