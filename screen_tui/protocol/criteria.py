"""What a test's result must show before an exercise goes on."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from screen_tui.fields import Id, Strict
from screen_tui.protocol.evidence import Condition


class Criterion(Strict):
    """As much of a criterion in words as a test can tell; all that is given must hold.

    It is read on the side of the driver, or on both where the driver has none. ``standing`` is
    against the judging line, ``at_least`` and ``at_most`` in the measure's unit, and ``max_pain``
    is the worst pain of the trials, 0 to 10, where it was asked. None of ``signs_none`` was seen.
    """

    test: Id
    measure: Id
    standing: Literal["meets"] | None = None
    at_least: float | None = None
    at_most: float | None = None
    max_pain: Annotated[int, Field(ge=0, le=10)] | None = None
    signs_none: tuple[Id, ...] = ()

    @model_validator(mode="after")
    def _asks_for_something(self) -> Criterion:
        if self.standing is None and self.at_least is None and self.at_most is None:
            raise ValueError("asks nothing of the measure; add standing, at_least or at_most")
        return self

    @property
    def condition(self) -> Condition:
        """The same without pain, as the rules of a test are written."""
        return Condition(
            measure=self.measure,
            standing=self.standing,
            at_least=self.at_least,
            at_most=self.at_most,
            signs_none=self.signs_none,
        )
