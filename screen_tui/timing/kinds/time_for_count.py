"""How long a set number of repetitions takes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field

from screen_tui.timing.spec import Movement, Seconds, TimerWords, TimingSpec
from screen_tui.timing.timer import FixedCountTimer, Timer


class TimeForCount(TimingSpec):
    """Time for a number of repetitions; ``end_point`` says what stops the clock."""

    kind: Literal["time-for-count"]
    count: Annotated[int, Field(ge=1, le=50)]
    min_split_s: Seconds
    end_point: Literal["sit", "stand"]

    rises: ClassVar[bool] = True
    movement: ClassVar[Movement] = "chair"
    refusals: ClassVar[Mapping[str, str]] = {
        "rising": 'the clock stops in standing; whole cycles end with end_point = "sit"',
    }
    words: ClassVar[TimerWords] = TimerWords(
        target="{count} times, ends {end}",
        progress="{done} of {wanted}",
        stopped="{when} at {done} of {wanted}",
        space="count",
    )

    def timer(self, steps: int | None = None) -> FixedCountTimer:
        return FixedCountTimer(self.count, self.min_split_s)

    @property
    def counts_upright(self) -> bool:
        return self.end_point == "stand"

    def wanted(self, steps: int | None) -> int:
        return self.count

    def rising(self, value: float) -> tuple[float, float] | None:
        return None if self.counts_upright else (value, self.count)

    def figures(self, timer: Timer, steps: int | None) -> dict[str, Any]:
        end = "standing" if self.counts_upright else "seated"
        return {**super().figures(timer, steps), "end": end}
