"""Numbers that are read off the patient and typed."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from screen_tui.timing.spec import NumberField, Typed


class Measure(Typed):
    """One to three numbers."""

    kind: Literal["measure"]
    fields: Annotated[tuple[NumberField, ...], Field(min_length=1, max_length=3)]

    @property
    def numbers(self) -> tuple[NumberField, ...]:
        return self.fields
