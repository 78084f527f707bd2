"""Published lines, reference values and measurement errors: what a result is held against."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from screen_tui.fields import Id, Line, SetUpId, Strict

Age = Annotated[int, Field(ge=0, le=120)]


MDC95_OVER_SEM = 2.772
"""1.96 times the square root of two; Weir 2005, J Strength Cond Res 19:231-240 (from memory)."""


class Band(Strict):
    """The people a figure is about: an age span, both ends included, and a sex."""

    sex: Literal["any", "female", "male"] = "any"
    from_age: Age
    to_age: Age

    @model_validator(mode="after")
    def _ages_in_order(self) -> Band:
        if self.to_age < self.from_age:
            raise ValueError(f"the band ends at {self.to_age} before it begins at {self.from_age}")
        return self

    def holds(self, age: int, sex: str) -> bool:
        """Whether a person belongs; an unspecified sex belongs only to bands for any sex."""
        return self.from_age <= age <= self.to_age and self.sex in ("any", sex)


class Limit(Band):
    """The figure of a line for one band."""

    value: float


class SetUpRange(Strict):
    """How a test must have been set up for a figure to hold, such as a seat of 41 to 45 cm.

    For what is chosen, ``one_of`` names the choices; for a number, ``minimum`` and ``maximum``.
    """

    id: SetUpId
    minimum: float | None = None
    maximum: float | None = None
    one_of: tuple[Id, ...] = ()

    def holds(self, value: float | str) -> bool:
        """Whether a value is within the range, or one of the choices."""
        if isinstance(value, str):
            return value in self.one_of
        above = self.minimum is None or value >= self.minimum
        return above and (self.maximum is None or value <= self.maximum)


class ResultLine(Strict):
    """A line a result is compared with.

    ``meets`` says which side of the limit is good, and whether the limit itself is good.
    A line with the role ``judge`` gives the standing: the first of them with a band for the
    person does. A ``flag`` is named in addition when the result is on its bad side.
    ``only_steps`` restricts the line to a flight of that many steps, ``only_when`` to the
    set-up the figure was measured with.
    """

    id: Id
    measure: Id
    role: Literal["judge", "flag"]
    meets: Literal["at least", "more than", "at most", "less than"]
    limits: Annotated[tuple[Limit, ...], Field(min_length=1)]
    meaning: Line
    population: Line
    source: Id
    only_steps: int | None = None
    only_when: tuple[SetUpRange, ...] = ()

    def limit_for(self, age: int, sex: str) -> float | None:
        """The limit for this person, or None where the table has no band: never the nearest."""
        return next((row.value for row in self.limits if row.holds(age, sex)), None)

    def met_by(self, value: float, limit: float) -> bool:
        """Whether an unrounded value is on the good side of the limit."""
        return {
            "at least": value >= limit,
            "more than": value > limit,
            "at most": value <= limit,
            "less than": value < limit,
        }[self.meets]


class ReferenceRow(Band):
    """Mean, and where published the standard deviation, of one band."""

    mean: float
    sd: float | None = None


class Reference(Strict):
    """Values of a reference sample, shown beside a result; they do not judge it.

    ``no_percentile_because`` says why mean and spread give no percentile: most of the sample
    reached the cap, say, or the spread is skewed.
    """

    measure: Id
    rows: Annotated[tuple[ReferenceRow, ...], Field(min_length=1)]
    population: Line
    source: Id
    no_percentile_because: Line | None = None
    only_steps: int | None = None

    def row_for(self, age: int, sex: str) -> ReferenceRow | None:
        """The row for this person, or None where the table has no band."""
        return next((row for row in self.rows if row.holds(age, sex)), None)


class MeasurementError(Strict):
    """How far a result may be off, or two results apart, without anything having changed.

    An error whose size grows with the result, as that of long holds does, says nothing at a
    line far below the sample's mean: it is then used for ``change`` only.
    """

    measure: Id
    kind: Literal["SEM", "MDC90", "MDC95"]
    value: Annotated[float, Field(gt=0)]
    population: Line
    source: Id
    use: Literal["line and change", "change"] = "line and change"

    @property
    def sem(self) -> float:
        """The standard error of measurement.

        From MDC = z * sqrt(2) * SEM, with z = 1.645 (90 %) or 1.960 (95 %)
        (Weir 2005, J Strength Cond Res 19:231-240; from memory).
        """
        return self.value / {"SEM": 1.0, "MDC90": 2.326, "MDC95": MDC95_OVER_SEM}[self.kind]
