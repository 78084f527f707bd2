"""How long a flight of stairs takes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from screen_tui.timing.spec import Direction, Movement, Seconds, TimerWords, TimingSpec
from screen_tui.timing.timer import FixedCountTimer, IntervalTimer


class Steps(TimingSpec):
    """Time over a flight of stairs, up and down apart; by choice with a split at each step."""

    kind: Literal["steps"]
    steps: Annotated[int, Field(ge=1, le=60)]
    min_split_s: Seconds

    directions: ClassVar[tuple[Direction, ...]] = ("up", "down")
    takes: ClassVar[frozenset[str]] = frozenset({"time-up", "time-down", "stair-power"})
    movement: ClassVar[Movement] = "stairs"
    refusals: ClassVar[Mapping[str, str]] = {"value": "a flight has a time-up and a time-down"}
    words: ClassVar[TimerWords] = TimerWords(
        target="{wanted} steps",
        progress="step {done} of {wanted}",
        stopped="{when} at {done} of {wanted}",
    )

    def timer(self, steps: int | None = None) -> FixedCountTimer:
        return FixedCountTimer(steps or self.steps, self.min_split_s)

    def plain_timer(self, steps: int | None = None) -> IntervalTimer:
        return IntervalTimer()

    @property
    def flight(self) -> int:
        return self.steps

    def wanted(self, steps: int | None) -> int:
        return steps or self.steps
