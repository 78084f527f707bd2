"""How many of several holds last their full time."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import accumulate
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field

from screen_tui.timing.kinds.hold import HoldTimer
from screen_tui.timing.spec import Movement, Seconds, TimingSpec
from screen_tui.timing.timer import (
    FULL_TIME,
    GRACE_S,
    STOPPED_EARLY,
    Phase,
    Snapshot,
    Timer,
)


class RepeatHold(TimingSpec):
    """A number of holds of a fixed length, each good or not, with ``rest_s`` of rest between."""

    kind: Literal["repeat-hold"]
    holds: Annotated[int, Field(ge=1, le=20)]
    hold_s: Seconds
    rest_s: Annotated[float, Field(ge=0, le=600)] = 0

    runs_to: ClassVar[str] = "{holds} holds of {hold_s:g} s"
    counts: ClassVar[bool] = True
    counted: ClassVar[str] = "good holds"
    decimals: ClassVar[int] = 0
    # The main number is the time of a hold to the end; the good ones are in the progress.
    digits: ClassVar[int] = 4
    stopped: ClassVar[str] = "stopped in hold {begun} of {holds}"
    movement: ClassVar[Movement] = "leg-raise"
    of_case: ClassVar[frozenset[str]] = frozenset({"holds_s"})

    def timer(self, steps: int | None = None) -> RepeatHoldTimer:
        return RepeatHoldTimer(self.holds, self.hold_s, rest_s=self.rest_s)

    @property
    def series(self) -> tuple[int, float]:
        return self.holds, self.hold_s

    def recorded_splits(self, splits: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(accumulate(splits))

    def progress(self, shot: Snapshot, steps: int | None) -> str:
        going = shot.phase is Phase.RUNNING and not shot.resting
        hold = min(len(shot.splits) + going, self.holds)
        return f"hold {hold} of {self.holds} - {shot.count} good"

    def space_does(self, shot: Snapshot) -> str:
        return "next hold" if shot.resting else "hold lost"


@dataclass(frozen=True, slots=True)
class RepeatHoldTimer(Timer):
    """A press starts a hold, its full time ends it as good, and a press starts the next.

    A press during a hold ends that hold early: not good. After the last hold the timer has ended.
    Its value is the number of good holds, its splits are how long each lasted.

    A rest of ``rest_s`` is counted down between two holds; a press ends it early. ``runs`` are the
    holds so far, each a timer of its own; ``stopped`` is when a hand stopped the series, or None.
    """

    holds: int
    hold_s: float
    rest_s: float = field(default=0.0, kw_only=True)
    runs: tuple[HoldTimer, ...] = field(default=(), kw_only=True)
    stopped: float | None = field(default=None, kw_only=True)

    @property
    def phase(self) -> Phase:
        if not self.runs:
            return Phase.READY
        finished = len(self.runs) == self.holds and self.runs[-1].phase is Phase.ENDED
        return Phase.ENDED if finished or self.incomplete else Phase.RUNNING

    @property
    def started(self) -> float | None:
        return self.runs[0].start if self.runs else None

    @property
    def ended(self) -> float | None:
        return self.runs[-1].ended if self.phase is Phase.ENDED else None

    @property
    def resting(self) -> bool:
        return self.phase is Phase.RUNNING and self.runs[-1].phase is Phase.ENDED

    @property
    def counted(self) -> int:
        """Good holds so far."""
        return sum(split >= self.hold_s for split in self.splits)

    @property
    def incomplete(self) -> bool:
        return self.stopped is not None

    @property
    def value(self) -> float | None:
        return float(self.counted) if self.phase is Phase.ENDED else None

    @property
    def splits(self) -> tuple[float, ...]:
        values = (run.value for run in self._runs_as_stopped)
        return tuple(value for value in values if value is not None)

    def press(self, t: float) -> Self:
        """Start a hold, or end the one that runs.

        A press stamped within the grace after the full time of a hold is a stop that came late: the
        hold stays good, and the next is not started by it.
        """
        if self.incomplete:
            return self
        if not self.runs:
            return self._begin(t)
        last = self.runs[-1]
        deadline = _deadline(last)
        if last.phase is Phase.RUNNING or (last.capped and t <= deadline + GRACE_S):
            after = self._with_last(last.press(t))
            return after._begin(t) if t > deadline + GRACE_S else after
        return self._begin(t if last.end is None else max(t, last.end))

    def stop(self, t: float) -> Self:
        if self.phase is not Phase.RUNNING:
            return self
        last = self.runs[-1]
        after = self._with_last(last.press(t)) if t > _deadline(last) else self
        return after if after.phase is Phase.ENDED else replace(after, stopped=t)

    def tick(self, now: float) -> Self:
        if self.phase is not Phase.RUNNING:
            return self
        return self._with_last(self.runs[-1].tick(now))

    def snapshot(self, now: float) -> Snapshot:
        runs = self._runs_as_stopped
        last = (runs[-1] if runs else HoldTimer(self.hold_s)).snapshot(now)
        over = bool(runs) and last.phase is Phase.ENDED
        good = over and self.splits[-1] >= self.hold_s
        note = (FULL_TIME if good else "ended early") if over else ""
        return Snapshot(
            phase=self.phase,
            elapsed=last.elapsed,
            remaining=last.remaining,
            count=self.counted,
            splits=self.splits,
            target_reached=good,
            resting=self.resting,
            rest_left=self._rest_left(now),
            note=STOPPED_EARLY if self.incomplete else note,
        )

    @property
    def _runs_as_stopped(self) -> tuple[HoldTimer, ...]:
        if self.stopped is None or not self.runs:
            return self.runs
        return (*self.runs[:-1], self.runs[-1].stop(self.stopped))

    def _rest_left(self, now: float) -> float | None:
        if not self.resting or not self.rest_s or self.runs[-1].ended is None:
            return None
        return max(self.rest_s - (now - self.runs[-1].ended), 0.0)

    def _begin(self, t: float) -> Self:
        if len(self.runs) == self.holds:
            return self
        return replace(self, runs=(*self.runs, HoldTimer(self.hold_s, start=t)))

    def _with_last(self, run: HoldTimer) -> Self:
        return replace(self, runs=(*self.runs[:-1], run))


def _deadline(run: HoldTimer) -> float:
    # A hold in a series has always begun.
    assert run.deadline is not None
    return run.deadline
