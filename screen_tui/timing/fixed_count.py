"""How long a set number of repetitions or steps takes."""

from dataclasses import dataclass, field, replace
from typing import Self

from screen_tui.timing.repetitions import RepetitionLog
from screen_tui.timing.timer import (
    STOPPED_EARLY,
    TOO_FAST,
    Phase,
    Snapshot,
    Timer,
    require_not_negative,
    require_positive,
)


@dataclass(frozen=True, slots=True)
class FixedCountTimer(Timer):
    """A press starts, each press counts one, and the last of the set number ends.

    Its value is the seconds from the start to that last press. Stopped before, it has no value but
    keeps its count and splits.

    Attributes:
        target: How many there are to be.
        min_split_s: Fewer seconds than this from one to the next are not plausible; such a press is
            ignored.
        log: The start and the presses.
        stopped: Time at which it was stopped by hand, or None.

    Raises:
        ValueError: If the target is not above zero or the smallest split is negative.
    """

    target: int
    min_split_s: float
    log: RepetitionLog = field(default=RepetitionLog(), kw_only=True)
    stopped: float | None = field(default=None, kw_only=True)

    def __post_init__(self) -> None:
        require_positive("the number to count to", self.target)
        require_not_negative("the smallest split", self.min_split_s)

    @property
    def phase(self) -> Phase:
        if self.log.start is None:
            return Phase.READY
        return Phase.ENDED if self._complete or self.incomplete else Phase.RUNNING

    @property
    def started(self) -> float | None:
        return self.log.start

    @property
    def counted(self) -> int:
        """Repetitions or steps so far."""
        return self.log.counted

    @property
    def ignored(self) -> int:
        return self.log.ignored

    @property
    def incomplete(self) -> bool:
        return self.stopped is not None

    @property
    def value(self) -> float | None:
        return self.splits[-1] if self._complete else None

    @property
    def splits(self) -> tuple[float, ...]:
        return self.log.splits

    def press(self, t: float) -> Self:
        if self.phase is Phase.ENDED:
            return self
        return replace(self, log=self.log.add(t, self.min_split_s))

    def stop(self, t: float) -> Self:
        if self.phase is not Phase.RUNNING:
            return self
        return replace(self, stopped=self.log.not_before_last(t))

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
            target_reached=self._complete,
            note=self._note(),
        )

    @property
    def _complete(self) -> bool:
        return self.counted >= self.target

    def _note(self) -> str:
        if self.incomplete:
            return STOPPED_EARLY
        return TOO_FAST if self.log.last_ignored else ""
