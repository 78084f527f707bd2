"""A few repetitions that are watched, not timed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from screen_tui.timing.spec import Movement, TimerWords, TimingSpec
from screen_tui.timing.timer import Untimed


class Quality(TimingSpec):
    """A few repetitions that are watched, not timed: only signs are noted."""

    kind: Literal["quality"]
    repetitions: Annotated[int, Field(ge=1, le=20)]

    clocked: ClassVar[bool] = False
    patient_starts: ClassVar[bool] = True
    movement: ClassVar[Movement] = "step-down"
    refusals: ClassVar[Mapping[str, str]] = {
        "value": "of a quality test only signs are saved",
        "correction": "This test has no number; its result is its signs.",
    }
    words: ClassVar[TimerWords] = TimerWords(
        target="{repetitions} slow repetitions",
        number="{done:.0f}/{repetitions}",
        unit="repetitions",
        state="WATCH",
        after_the_end="all repetitions are done; Enter saves",
        without_value="watched, not timed",
    )

    def timer(self, steps: int | None = None) -> Untimed:
        return Untimed(self.repetitions)

    def wanted(self, steps: int | None) -> int:
        return self.repetitions
