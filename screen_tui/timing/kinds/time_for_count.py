"""How long a set number of repetitions takes."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from screen_tui.timing.spec import Movement, Seconds, TimingSpec
from screen_tui.timing.timer import FixedCountTimer, Snapshot


class TimeForCount(TimingSpec):
    """Time for a number of repetitions; ``end_point`` says what stops the clock."""

    kind: Literal["time-for-count"]
    count: Annotated[int, Field(ge=1, le=50)]
    min_split_s: Seconds
    end_point: Literal["sit", "stand"]

    rises: ClassVar[bool] = True
    why_no_rising: ClassVar[str] = (
        'the clock stops in standing; whole cycles end with end_point = "sit"'
    )
    movement: ClassVar[Movement] = "chair"
    stopped: ClassVar[str] = "{when} at {done} of {wanted}"
    space: ClassVar[str] = "count"
    of_case: ClassVar[frozenset[str]] = frozenset({"repetitions_s", "pace"})

    def timer(self, steps: int | None = None) -> FixedCountTimer:
        return FixedCountTimer(self.count, self.min_split_s)

    @property
    def counts_upright(self) -> bool:
        return self.end_point == "stand"

    def wanted(self, steps: int | None) -> int:
        return self.count

    def rising(self, value: float) -> tuple[float, float] | None:
        return (value, self.count) if self.end_point == "sit" else None

    def target(self, steps: int | None) -> str:
        end = "seated" if self.end_point == "sit" else "standing"
        return f"{self.count} times, ends {end}"

    def progress(self, shot: Snapshot, steps: int | None) -> str:
        return f"{shot.count} of {self.count}"
