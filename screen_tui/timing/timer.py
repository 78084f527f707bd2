"""Timers: what all have in common, and those that several kinds of tests use.

A timer is a value. Each operation takes a time and returns a new timer; none reads a clock. Times
are seconds of one monotonic clock, unrounded.

Three rules hold for every kind:

* The stamp of a press decides, not the moment it is handled. A press stamped at or before a
  deadline counts, however late it comes.
* A deadline closes a timer only `GRACE_S` after it has passed, so that presses under way arrive
  first. A press stamped after the deadline closes it too, as presses come in order.
* Nothing that a hand can do raises an error. A press earlier than the one before it is taken as
  simultaneous with that one, and an operation that has no meaning in a phase changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import ClassVar, NamedTuple, Self

GRACE_S = 0.15
"""Seconds a deadline waits for presses that were stamped before it."""

TOO_FAST = "too fast, ignored"
STOPPED_EARLY = "stopped early"
FULL_TIME = "full time"


class Phase(StrEnum):
    """Where a timer is."""

    READY = "ready"
    RUNNING = "running"
    ENDED = "ended"


class Timer:
    """What may be asked of a timer of any kind; the answers here are those of the plainest."""

    __slots__ = ()

    @property
    def phase(self) -> Phase:
        raise NotImplementedError

    @property
    def started(self) -> float | None:
        raise NotImplementedError

    @property
    def ended(self) -> float | None:
        """Time of the end, or None; where something is held again and again, of the last hold."""
        if self.phase is not Phase.ENDED or self.started is None:
            return None
        # Of an ended timer this is the same at any moment.
        return self.started + self.elapsed(self.started)

    @property
    def limit_s(self) -> float | None:
        """Seconds after which it closes by itself, or None."""
        return None

    @property
    def deadline(self) -> float | None:
        """Time of the limit, when a press still counts; None before the start and without one."""
        if self.started is None or self.limit_s is None:
            return None
        return self.started + self.limit_s

    def elapsed(self, now: float) -> float:
        """Seconds since the start, up to the end or limit; in a series of holds, of the last."""
        return 0.0

    @property
    def going_on(self) -> bool:
        """Whether what is seen now has a time in the trial."""
        return self.phase is Phase.RUNNING

    @property
    def value(self) -> float | None:
        """The result, unrounded, in the unit of the kind; None before there is one."""
        return None

    @property
    def count(self) -> int:
        """Repetitions or steps so far; in a series of holds, the good ones."""
        return 0

    @property
    def splits(self) -> tuple[float, ...]:
        """Seconds from the start to each repetition or step; of holds, how long each lasted."""
        return ()

    @property
    def ignored(self) -> int:
        """Presses left out as too fast."""
        return 0

    @property
    def resting(self) -> bool:
        """Whether a hold of a series is over and the next is awaited."""
        return False

    def rest_left(self, now: float) -> float | None:
        """Seconds of rest left before the next hold; None where none is counted down."""
        return None

    @property
    def incomplete(self) -> bool:
        """Whether it was stopped by hand before what it measures was complete."""
        return False

    @property
    def capped(self) -> bool:
        """Whether a limit ended it; the value is then the limit, and the truth at least that."""
        return False

    @property
    def reached(self) -> bool:
        """Whether the set time or number is full; worth a bell when it turns true."""
        return self.capped

    @property
    def asking(self) -> bool:
        """Whether it has ended and `answer` is awaited."""
        return False

    @property
    def over(self) -> bool:
        """Whether nothing more is to come, so that the trial can be saved."""
        return self.phase is Phase.ENDED and not self.asking

    @property
    def note(self) -> str:
        """A hint of one line, or ""."""
        if self.incomplete:
            return STOPPED_EARLY
        return FULL_TIME if self.capped else ""

    def press(self, t: float) -> Self:
        """Take a press stamped `t`: it starts, counts or ends, as fits the kind and phase."""
        raise NotImplementedError

    def answer(self, yes: bool) -> Self:
        """Take the answer to the question at the end; heard while asking."""
        return self

    def stop(self, t: float) -> Self:
        """End a running timer by hand at `t`; any other is left as it is."""
        return self

    def tick(self, now: float) -> Self:
        """Let a deadline close the timer, when it passed `GRACE_S` or more before `now`."""
        return self


@dataclass(frozen=True, slots=True)
class IntervalTimer(Timer):
    """One interval: a press starts it, a press ends it, and perhaps a limit closes it.

    ``end`` is the time at which a hand ended it, or None.
    """

    stop_is_an_end: ClassVar[bool] = False
    """Whether stopping by hand is a proper end, as it is for a hold."""

    started: float | None = field(default=None, kw_only=True)
    end: float | None = field(default=None, kw_only=True)
    incomplete: bool = field(default=False, kw_only=True)
    capped: bool = field(default=False, kw_only=True)

    @property
    def phase(self) -> Phase:
        if self.started is None:
            return Phase.READY
        return Phase.ENDED if self.capped or self.end is not None else Phase.RUNNING

    @property
    def value(self) -> float | None:
        if self.capped:
            return self.limit_s
        return None if self.end is None or self.incomplete else self.elapsed(self.end)

    def elapsed(self, now: float) -> float:
        if self.capped and self.limit_s is not None:
            return self.limit_s
        if self.started is None:
            return 0.0
        elapsed = max((now if self.end is None else self.end) - self.started, 0.0)
        return elapsed if self.limit_s is None else min(elapsed, self.limit_s)

    def press(self, t: float) -> Self:
        """Start, or end at `t`; a press stamped after the limit closes at the limit.

        A press stamped at or before the limit ends the interval at its own time even when the limit
        has closed it meanwhile.
        """
        if self.started is None:
            return replace(self, started=t)
        return self if self.end is not None else self._end_at(t, incomplete=False)

    def stop(self, t: float) -> Self:
        if self.phase is not Phase.RUNNING:
            return self
        return self._end_at(t, incomplete=not self.stop_is_an_end)

    def tick(self, now: float) -> Self:
        if self.phase is not Phase.RUNNING or self.deadline is None:
            return self
        return replace(self, capped=True) if now >= self.deadline + GRACE_S else self

    def _end_at(self, t: float, *, incomplete: bool) -> Self:
        if self.deadline is not None and t > self.deadline:
            return replace(self, capped=True)
        end = t if self.started is None else max(t, self.started)
        return replace(self, end=end, incomplete=incomplete, capped=False)


class Press(NamedTuple):
    """One press after the start; one that came too fast is saved but not counted."""

    t: float
    counted: bool


@dataclass(frozen=True, slots=True)
class CountingTimer(Timer):
    """Counts presses: the first starts, each further one counts, and a hand may stop it.

    ``presses`` are all since the start, in order; ``stopped`` is when a hand stopped it, or None.
    """

    started: float | None = field(default=None, kw_only=True)
    presses: tuple[Press, ...] = field(default=(), kw_only=True)
    stopped: float | None = field(default=None, kw_only=True)

    @property
    def phase(self) -> Phase:
        if self.started is None:
            return Phase.READY
        return Phase.ENDED if self.reached or self.incomplete else Phase.RUNNING

    def elapsed(self, now: float) -> float:
        if self.started is None:
            return 0.0
        return max((now if self.stopped is None else self.stopped) - self.started, 0.0)

    @property
    def count(self) -> int:
        return len(self.splits)

    @property
    def ignored(self) -> int:
        return len(self.presses) - len(self.splits)

    @property
    def incomplete(self) -> bool:
        return self.stopped is not None

    @property
    def note(self) -> str:
        if self.incomplete:
            return STOPPED_EARLY
        too_fast = bool(self.presses) and not self.presses[-1].counted
        return TOO_FAST if too_fast and not self.reached else ""

    @property
    def splits(self) -> tuple[float, ...]:
        start = self.started or 0.0
        return tuple(press.t - start for press in self.presses if press.counted)

    def stop(self, t: float) -> Self:
        return replace(self, stopped=self._in_order(t)) if self.phase is Phase.RUNNING else self

    def _add(self, t: float, min_split_s: float) -> Self:
        """Start, or add a press; one sooner than that after the one before it does not count."""
        if self.started is None:
            return replace(self, started=t)
        t = self._in_order(t)
        since = next((press.t for press in reversed(self.presses) if press.counted), self.started)
        return replace(self, presses=(*self.presses, Press(t, counted=t - since >= min_split_s)))

    def _in_order(self, t: float) -> float:
        last = self.presses[-1].t if self.presses else self.started
        return t if last is None else max(t, last)


@dataclass(frozen=True, slots=True)
class FixedCountTimer(CountingTimer):
    """A press starts, each press counts one, and the last of the set number ends.

    Its value is the seconds from the start to that last press. Stopped before, it has no value but
    has its count and splits. A press sooner than ``min_split_s`` seconds after the one before it
    is ignored.
    """

    target: int
    min_split_s: float

    @property
    def reached(self) -> bool:
        return self.count >= self.target

    @property
    def value(self) -> float | None:
        return self.splits[-1] if self.reached else None

    def press(self, t: float) -> Self:
        return self if self.phase is Phase.ENDED else self._add(t, self.min_split_s)

    def elapsed(self, now: float) -> float:
        # By name: a class with slots is made anew, so that `super` without a name is of another.
        return CountingTimer.elapsed(self, now) if self.value is None else self.value


@dataclass(frozen=True, slots=True)
class Untimed(Timer):
    """Counts what is watched, up to a number; nothing runs, and it can be saved at any time.

    ``started`` is the time of the first repetition, or None.
    """

    target: int = 0
    count: int = 0
    started: float | None = None

    @property
    def phase(self) -> Phase:
        return Phase.READY if self.target and not self.count else Phase.ENDED

    @property
    def going_on(self) -> bool:
        return self.started is not None

    @property
    def over(self) -> bool:
        return True

    @property
    def reached(self) -> bool:
        return self.target > 0 and self.count == self.target

    def press(self, t: float) -> Self:
        if self.count >= self.target:
            return self
        return replace(
            self, count=self.count + 1, started=t if self.started is None else self.started
        )
