"""A few repetitions that are watched, not timed."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from screen_tui.timing.spec import Movement, TimingSpec
from screen_tui.timing.timer import Untimed


class Quality(TimingSpec):
    """A few repetitions that are watched, not timed: only signs are noted."""

    kind: Literal["quality"]
    repetitions: Annotated[int, Field(ge=1, le=20)]

    runs_to: ClassVar[str] = "{repetitions} slow repetitions"
    clocked: ClassVar[bool] = False
    patient_starts: ClassVar[bool] = True
    movement: ClassVar[Movement] = "step-down"
    of_number: ClassVar[str] = "repetitions"
    of_case: ClassVar[frozenset[str]] = frozenset({"repetitions_s", "pace"})
    without_value: ClassVar[str] = "watched, not timed"
    why_no_value: ClassVar[str] = "of a quality test only signs are saved"
    why_no_correction: ClassVar[str] = "This test has no number; its result is its signs."
    after_the_end: ClassVar[str] = "all repetitions are done; Enter saves"
    only_state: ClassVar[str] = "WATCH"

    def timer(self, steps: int | None = None) -> Untimed:
        return Untimed(self.repetitions)

    @property
    def one_value(self) -> bool:
        return False

    def wanted(self, steps: int | None) -> int:
        return self.repetitions

    def main_number(self, seconds: float, count: float) -> str:
        return f"{count:.0f}/{self.repetitions}"
