"""What all timers have in common: their phases, what they show, and how they are told the time.

A timer is a value. Each operation takes a time and returns a new timer; none reads a clock. Times
are seconds of one monotonic clock, kept unrounded.

Three rules hold for every kind:

* The stamp of a press decides, not the moment it is handled. A press stamped at or before a
  deadline counts, however late it comes.
* A deadline closes a timer only `GRACE_S` after it has passed, so that presses under way arrive
  first. A press stamped after the deadline closes it too, as presses come in order.
* Nothing that a hand can do raises an error. A press earlier than the one before it is taken as
  simultaneous with that one, and an operation that has no meaning in a phase changes nothing.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Self

GRACE_S = 0.15
"""Seconds a deadline waits for presses that were stamped before it."""

TOO_FAST = "too fast, ignored"
STOPPED_EARLY = "stopped early"
FULL_TIME = "full time"


class Phase(StrEnum):
    """Where a timer stands."""

    READY = "ready"
    RUNNING = "running"
    ENDED = "ended"


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """All a screen needs to draw a timer at one moment.

    Attributes:
        phase: Ready, running or ended.
        elapsed: Seconds since the start, up to the end or deadline; in a series of holds, of the
            present or last hold.
        remaining: Seconds left to the deadline, or None for a kind without one.
        count: Repetitions, steps or good holds so far.
        splits: Seconds since the start for each repetition or step; in a series of holds, how long
            each hold lasted.
        target_reached: The set time or count has been reached; worth a bell when it turns true.
        asking: Ended, and the answer of `Timer.answer` is awaited.
        resting: Running, between two holds of a series.
        rest_left: Seconds of rest left between two holds, where a rest is asked for; else None.
        note: A hint of one line, or "".
    """

    phase: Phase
    elapsed: float
    remaining: float | None = None
    count: int = 0
    splits: tuple[float, ...] = ()
    target_reached: bool = False
    asking: bool = False
    resting: bool = False
    rest_left: float | None = None
    note: str = ""


class Timer:
    """What may be asked of a timer of any kind; the answers here are those of the plainest."""

    __slots__ = ()

    @property
    def phase(self) -> Phase:
        """Where the timer is."""
        raise NotImplementedError

    @property
    def started(self) -> float | None:
        """Time of the start, or None."""
        raise NotImplementedError

    @property
    def ended(self) -> float | None:
        """Time of the end, or None; where something is held again and again, of the last hold."""
        if self.phase is not Phase.ENDED or self.started is None:
            return None
        # What an ended timer shows is the same at any moment.
        return self.started + self.snapshot(self.started).elapsed

    @property
    def going_on(self) -> bool:
        """Whether what is seen now has a time in the trial."""
        return self.phase is Phase.RUNNING

    @property
    def value(self) -> float | None:
        """The result, unrounded, in the unit of the kind; None before there is one."""
        return None

    @property
    def splits(self) -> tuple[float, ...]:
        """Seconds, as in `Snapshot.splits`."""
        return ()

    @property
    def incomplete(self) -> bool:
        """Whether it was stopped by hand before what it measures was complete."""
        return False

    @property
    def capped(self) -> bool:
        """Whether a limit ended it; the value is then the limit, and the truth at least that."""
        return False

    @property
    def asking(self) -> bool:
        """Whether `answer` is awaited."""
        return False

    @property
    def ignored(self) -> int:
        """Presses left out as too fast."""
        return 0

    @property
    def over(self) -> bool:
        """Whether nothing more is to come, so that the trial can be saved."""
        return self.phase is Phase.ENDED and not self.asking

    def press(self, t: float) -> Self:
        """Take a press stamped `t`: it starts, counts or ends, as fits the kind and phase."""
        raise NotImplementedError

    def answer(self, yes: bool) -> Self:
        """Take the answer to the question at the end; heard while asking."""
        del yes
        return self

    def stop(self, t: float) -> Self:
        """End a running timer by hand at `t`; any other is left as it is."""
        del t
        return self

    def tick(self, now: float) -> Self:
        """Let a deadline close the timer, when it passed `GRACE_S` or more before `now`."""
        del now
        return self

    def snapshot(self, now: float) -> Snapshot:
        """Tell what there is to show at `now`."""
        raise NotImplementedError


def require_positive(what: str, value: float) -> None:
    """Refuse a setting that is not a finite number above zero.

    Raises:
        ValueError: If it is not.
    """
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{what} must be above zero, not {value}")


def require_not_negative(what: str, value: float) -> None:
    """Refuse a setting that is not a finite number of zero or more.

    Raises:
        ValueError: If it is not.
    """
    if not (math.isfinite(value) and value >= 0):
        raise ValueError(f"{what} must not be negative, not {value}")
