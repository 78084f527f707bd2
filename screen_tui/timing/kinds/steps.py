"""How long a flight of stairs takes."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from screen_tui.timing.spec import Direction, Movement, Seconds, TimingSpec
from screen_tui.timing.timer import FixedCountTimer, Snapshot, StretchTimer


class Steps(TimingSpec):
    """Time over a flight of stairs, up and down apart; by choice with a split at each step."""

    kind: Literal["steps"]
    steps: Annotated[int, Field(ge=1, le=60)]
    min_split_s: Seconds

    runs_to: ClassVar[str] = "{wanted} steps"
    directions: ClassVar[tuple[Direction, ...]] = ("up", "down")
    takes: ClassVar[frozenset[str]] = frozenset({"time-up", "time-down", "stair-power"})
    movement: ClassVar[Movement] = "stairs"
    stopped: ClassVar[str] = "{when} at {done} of {wanted}"
    of_case: ClassVar[frozenset[str]] = frozenset({"repetitions_s", "pace", "direction", "steps"})
    taps: ClassVar[bool] = True
    why_no_value: ClassVar[str] = "a flight has a time-up and a time-down"

    def timer(self, steps: int | None = None) -> FixedCountTimer:
        return FixedCountTimer(steps or self.steps, self.min_split_s)

    def plain_timer(self, steps: int | None = None) -> StretchTimer:
        return StretchTimer()

    @property
    def flight(self) -> int:
        return self.steps

    def wanted(self, steps: int | None) -> int:
        return steps or self.steps

    def progress(self, shot: Snapshot, steps: int | None) -> str:
        return f"step {shot.count} of {self.wanted(steps)}" if shot.count else ""
