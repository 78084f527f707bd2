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


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """All a screen needs to draw a timer at one moment.

    Attributes:
        elapsed: Seconds since the start, up to the end or deadline; in a series of holds, of the
            present or last hold.
        remaining: Seconds left to the deadline, or None for a kind without one.
        splits: Seconds since the start for each repetition or step; in a series of holds, how long
            each hold lasted.
        target_reached: The set time or count has been reached; worth a bell when it turns true.
        asking: Ended, and the answer of `Timer.answer` is awaited.
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
        return self

    def stop(self, t: float) -> Self:
        """End a running timer by hand at `t`; any other is left as it is."""
        return self

    def tick(self, now: float) -> Self:
        """Let a deadline close the timer, when it passed `GRACE_S` or more before `now`."""
        return self

    def snapshot(self, now: float) -> Snapshot:
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class StretchTimer(Timer):
    """One stretch of time: a press starts it, a press ends it, and perhaps a limit closes it.

    Attributes:
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


class Press(NamedTuple):
    """One press after the start; one that came too fast is saved but not counted."""

    t: float
    counted: bool


@dataclass(frozen=True, slots=True)
class CountingTimer(Timer):
    """Counts presses: the first starts, each further one counts, and a hand may stop it.

    ``presses`` are all since the start, in order; ``stopped`` is when a hand stopped it, or None.
    """

    start: float | None = field(default=None, kw_only=True)
    presses: tuple[Press, ...] = field(default=(), kw_only=True)
    stopped: float | None = field(default=None, kw_only=True)

    @property
    def complete(self) -> bool:
        """Whether it ended by itself."""
        raise NotImplementedError

    @property
    def phase(self) -> Phase:
        if self.start is None:
            return Phase.READY
        return Phase.ENDED if self.complete or self.incomplete else Phase.RUNNING

    @property
    def started(self) -> float | None:
        return self.start

    @property
    def counted(self) -> int:
        """Repetitions or steps so far."""
        return len(self.splits)

    @property
    def ignored(self) -> int:
        return len(self.presses) - len(self.splits)

    @property
    def last_ignored(self) -> bool:
        return bool(self.presses) and not self.presses[-1].counted

    @property
    def incomplete(self) -> bool:
        return self.stopped is not None

    @property
    def splits(self) -> tuple[float, ...]:
        start = self.start or 0.0
        return tuple(press.t - start for press in self.presses if press.counted)

    def stop(self, t: float) -> Self:
        return replace(self, stopped=self._in_order(t)) if self.phase is Phase.RUNNING else self

    def _add(self, t: float, min_split_s: float) -> Self:
        """Start, or add a press; one sooner than that after the one before it does not count."""
        if self.start is None:
            return replace(self, start=t)
        t = self._in_order(t)
        since = next((press.t for press in reversed(self.presses) if press.counted), self.start)
        return replace(self, presses=(*self.presses, Press(t, counted=t - since >= min_split_s)))

    def _in_order(self, t: float) -> float:
        last = self.presses[-1].t if self.presses else self.start
        return t if last is None else max(t, last)

    def _elapsed(self, now: float) -> float:
        if self.start is None:
            return 0.0
        return max((now if self.stopped is None else self.stopped) - self.start, 0.0)


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
    def complete(self) -> bool:
        return self.counted >= self.target

    @property
    def value(self) -> float | None:
        return self.splits[-1] if self.complete else None

    def press(self, t: float) -> Self:
        return self if self.phase is Phase.ENDED else self._add(t, self.min_split_s)

    def snapshot(self, now: float) -> Snapshot:
        note = TOO_FAST if self.last_ignored else ""
        return Snapshot(
            phase=self.phase,
            elapsed=self._elapsed(now) if self.value is None else self.value,
            count=self.counted,
            splits=self.splits,
            target_reached=self.complete,
            note=STOPPED_EARLY if self.incomplete else note,
        )


@dataclass(frozen=True, slots=True)
class Untimed(Timer):
    """Counts what is watched, up to a number; nothing runs, and it can be saved at any time.

    ``start`` is the time of the first repetition, or None.
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
        done = self.target > 0 and self.count == self.target
        return Snapshot(phase=self.phase, elapsed=0.0, count=self.count, target_reached=done)
