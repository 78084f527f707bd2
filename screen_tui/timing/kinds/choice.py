"""One of a few grades, chosen by its number."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from screen_tui.fields import Line, ShortLabel
from screen_tui.timing.spec import NumberField, TimerWords, Typed


class Choice(Typed):
    """A grade of a scale: ``grades`` from the least on, numbered from 0."""

    kind: Literal["choice"]
    label: Line
    grades: Annotated[tuple[ShortLabel, ...], Field(min_length=2, max_length=10)]

    words: ClassVar[TimerWords] = replace(
        Typed.words,
        state="CHOOSE",
        after_the_end="nothing is timed here; type the number of the grade",
    )

    @property
    def numbers(self) -> tuple[NumberField, ...]:
        hint = ", ".join(f"{number} {grade}" for number, grade in enumerate(self.grades))
        field = NumberField(
            id="value",
            label=self.label,
            minimum=0,
            maximum=len(self.grades) - 1,
            hint=hint,
            whole=True,
        )
        return (field,)

    def worded(self, value: float) -> str:
        known = 0 <= value < len(self.grades) and value == int(value)
        return self.grades[int(value)] if known else ""
