"""What all kinds have in common whose numbers are read off the patient and typed."""

from __future__ import annotations

from typing import ClassVar

from screen_tui.timing.spec import Movement, TimingSpec
from screen_tui.timing.timer import Snapshot
from screen_tui.timing.untimed import Untimed


class Typed(TimingSpec):
    """Numbers typed in, none of them timed."""

    clocked: ClassVar[bool] = False
    ordered: ClassVar[bool] = False
    movement: ClassVar[Movement] = "extension"

    def timer(self, steps: int | None = None) -> Untimed:
        del steps
        return Untimed()

    @property
    def one_value(self) -> bool:
        return any(field.id == "value" for field in self.numbers)

    @property
    def case_fields(self) -> frozenset[str]:
        return frozenset(field.id for field in self.numbers)

    def why_no_correction(self) -> str:
        return "Typed numbers are not corrected: make the trial void and type them again."

    def target(self, steps: int | None) -> str:
        del steps
        return ""

    def after_the_end(self) -> str:
        return "nothing is timed here; type the numbers"

    def unit(self, of_measure: str) -> str:
        del of_measure
        return ""

    def state(self, shot: Snapshot) -> str:
        del shot
        return "TYPE NUMBERS"
