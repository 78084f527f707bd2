"""How many of several holds last their full time."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import accumulate
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field

from screen_tui.timing.kinds.hold import HoldTimer
from screen_tui.timing.spec import Movement, Seconds, TimerWords, TimingSpec
from screen_tui.timing.timer import FULL_TIME, GRACE_S, STOPPED_EARLY, Phase, Timer


class RepeatHold(TimingSpec):
    """A number of holds of a fixed length, each good or not, with ``rest_s`` of rest between."""

    kind: Literal["repeat-hold"]
    holds: Annotated[int, Field(ge=1, le=20)]
    hold_s: Seconds
    rest_s: Annotated[float, Field(ge=0, le=600)] = 0

    counts: ClassVar[str] = "good holds"
    movement: ClassVar[Movement] = "leg-raise"
    words: ClassVar[TimerWords] = TimerWords(
        target="{holds} holds of {hold_s:g} s",
        progress="hold {begun} of {holds} - {done} good",
        stopped="stopped in hold {begun} of {holds}",
        space="hold lost",
    )

    def timer(self, steps: int | None = None) -> RepeatHoldTimer:
        return RepeatHoldTimer(self.holds, self.hold_s, rest_s=self.rest_s)

    @property
    def series(self) -> tuple[int, float]:
        return self.holds, self.hold_s

    def recorded_splits(self, splits: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(accumulate(splits))


@dataclass(frozen=True, slots=True)
class RepeatHoldTimer(Timer):
    """A press starts a hold, its full time ends it as good, and a press starts the next.

    A press during a hold ends that hold early: not good. After the last hold the timer has ended.
    Its value is the number of good holds, its splits are how long each lasted.

    A rest of ``rest_s`` is counted down between two holds; a press ends it early. ``runs`` are the
    holds so far, each a timer of its own.
    """

    holds: int
    hold_s: float
    rest_s: float = field(default=0.0, kw_only=True)
    runs: tuple[HoldTimer, ...] = field(default=(), kw_only=True)
    incomplete: bool = field(default=False, kw_only=True)

    @property
    def phase(self) -> Phase:
        if not self.runs:
            return Phase.READY
        finished = len(self.runs) == self.holds and self.runs[-1].phase is Phase.ENDED
        return Phase.ENDED if finished or self.incomplete else Phase.RUNNING

    @property
    def started(self) -> float | None:
        return self.runs[0].started if self.runs else None

    @property
    def ended(self) -> float | None:
        return self.runs[-1].ended if self.phase is Phase.ENDED else None

    @property
    def resting(self) -> bool:
        return self.phase is Phase.RUNNING and self.runs[-1].phase is Phase.ENDED

    def elapsed(self, now: float) -> float:
        return self.runs[-1].elapsed(now) if self.runs else 0.0

    def rest_left(self, now: float) -> float | None:
        if not self.resting or not self.rest_s or self.runs[-1].ended is None:
            return None
        return max(self.rest_s - (now - self.runs[-1].ended), 0.0)

    @property
    def count(self) -> int:
        return sum(split >= self.hold_s for split in self.splits)

    @property
    def reached(self) -> bool:
        last = self.runs[-1].value if self.runs else None
        return last is not None and last >= self.hold_s

    @property
    def note(self) -> str:
        if self.incomplete:
            return STOPPED_EARLY
        if not self.resting and self.phase is not Phase.ENDED:
            return ""
        return FULL_TIME if self.reached else "ended early"

    @property
    def value(self) -> float | None:
        return float(self.count) if self.phase is Phase.ENDED else None

    @property
    def splits(self) -> tuple[float, ...]:
        values = (run.value for run in self.runs)
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
        deadline = last.deadline
        assert deadline is not None  # a hold of a series has always begun
        if last.phase is Phase.RUNNING or (last.capped and t <= deadline + GRACE_S):
            after = self._with_last(last.press(t))
            return after._begin(t) if t > deadline + GRACE_S else after
        return self._begin(t if last.end is None else max(t, last.end))

    def stop(self, t: float) -> Self:
        if self.phase is not Phase.RUNNING:
            return self
        after = self._with_last(self.runs[-1].stop(t))
        # The full time of the last hold may be over though no tick has closed it yet.
        complete = len(after.runs) == self.holds and after.runs[-1].capped
        return after if complete else replace(after, incomplete=True)

    def tick(self, now: float) -> Self:
        if self.phase is not Phase.RUNNING:
            return self
        return self._with_last(self.runs[-1].tick(now))

    def _begin(self, t: float) -> Self:
        if len(self.runs) == self.holds:
            return self
        return replace(self, runs=(*self.runs, HoldTimer(self.hold_s, started=t)))

    def _with_last(self, run: HoldTimer) -> Self:
        return replace(self, runs=(*self.runs[:-1], run))
