"""Numbers that are read off the patient and typed."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from screen_tui.timing.spec import Movement, NumberField, TimingSpec
from screen_tui.timing.timer import Snapshot
from screen_tui.timing.untimed import Untimed


class Measure(TimingSpec):
    """Numbers typed in, none of them timed."""

    kind: Literal["measure"]
    fields: Annotated[tuple[NumberField, ...], Field(min_length=1, max_length=3)]

    clocked: ClassVar[bool] = False
    ordered: ClassVar[bool] = False
    movement: ClassVar[Movement] = "extension"

    def timer(self, steps: int | None = None) -> Untimed:
        del steps
        return Untimed()

    @property
    def numbers(self) -> tuple[NumberField, ...]:
        return self.fields

    @property
    def one_value(self) -> bool:
        return any(field.id == "value" for field in self.fields)

    @property
    def case_fields(self) -> frozenset[str]:
        return frozenset(field.id for field in self.fields)

    def why_no_correction(self) -> str:
        return "Typed numbers are not corrected: strike the trial out and type them again."

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
        return "ENTER NUMBERS"
