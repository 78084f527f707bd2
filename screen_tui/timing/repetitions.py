"""The presses of a trial in which repetitions are counted, and which of them count."""

from dataclasses import dataclass, field, replace
from typing import Self

from screen_tui.timing.timer import Phase, Timer


@dataclass(frozen=True, slots=True)
class Press:
    """One press after the start.

    Attributes:
        t: Its stamp, in seconds of the monotonic clock.
        counted: Whether it is a repetition; one that came too fast is kept but not counted.
    """

    t: float
    counted: bool


@dataclass(frozen=True, slots=True)
class RepetitionLog:
    """The start and every press since, in order. Ignored presses stay, to be told of.

    Attributes:
        start: Time of the start, or None.
        presses: The presses since.
    """

    start: float | None = None
    presses: tuple[Press, ...] = ()

    @property
    def splits(self) -> tuple[float, ...]:
        """Seconds from the start to each counted press."""
        if self.start is None:
            return ()
        return tuple(press.t - self.start for press in self.presses if press.counted)

    @property
    def counted(self) -> int:
        """Number of presses that count."""
        return sum(press.counted for press in self.presses)

    @property
    def ignored(self) -> int:
        """Number of presses that came too fast."""
        return len(self.presses) - self.counted

    @property
    def last_ignored(self) -> bool:
        """Whether the last press came too fast."""
        return bool(self.presses) and not self.presses[-1].counted

    def add(self, t: float, min_split_s: float) -> "RepetitionLog":
        """Start, or add a press.

        Args:
            t: Its stamp; one before the last press is taken as simultaneous with it.
            min_split_s: Fewer seconds than this after the start or the last counted press are too
                few for a repetition.
        """
        if self.start is None:
            return replace(self, start=t)
        t = self.not_before_last(t)
        since = next((press.t for press in reversed(self.presses) if press.counted), self.start)
        return replace(self, presses=(*self.presses, Press(t, counted=t - since >= min_split_s)))

    def not_before_last(self, t: float) -> float:
        """Return `t`, or the time of the last press or the start where that is later."""
        last = self.presses[-1].t if self.presses else self.start
        return t if last is None else max(t, last)

    def elapsed(self, at: float) -> float:
        """Return seconds from the start to `at`; zero before the start."""
        return 0.0 if self.start is None else max(at - self.start, 0.0)


@dataclass(frozen=True, slots=True)
class CountingTimer(Timer):
    """What all timers have in common that count presses: the first starts, and a hand may stop it.

    Attributes:
        log: The start and the presses.
        stopped: Time at which it was stopped by hand, or None.
    """

    log: RepetitionLog = field(default=RepetitionLog(), kw_only=True)
    stopped: float | None = field(default=None, kw_only=True)

    @property
    def complete(self) -> bool:
        """Whether it ended by itself."""
        raise NotImplementedError

    @property
    def phase(self) -> Phase:
        if self.log.start is None:
            return Phase.READY
        return Phase.ENDED if self.complete or self.incomplete else Phase.RUNNING

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
    def splits(self) -> tuple[float, ...]:
        return self.log.splits

    def stop(self, t: float) -> Self:
        if self.phase is not Phase.RUNNING:
            return self
        return replace(self, stopped=self.log.not_before_last(t))
