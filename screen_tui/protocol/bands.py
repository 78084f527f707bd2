"""Whom a figure is about, and when something is said of a test: shared by its parts."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from screen_tui.fields import Id, Strict

Age = Annotated[int, Field(ge=0, le=120)]


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


class Condition(Strict):
    """What is asked of a test. All that is given must hold for one test and one side.

    Attributes:
        measure: The measure that ``standing``, ``at_least`` and ``at_most`` are about.
        standing: The measure's standing against its judging line.
        at_least: The measure is at least this much, in its own unit.
        at_most: The measure is at most this much.
        signs_any: One of these signs was seen.
        signs_none: None of these signs was seen.
        ended_any: A trial ended for one of these reasons.
        both_sides: The rest of the condition holds on the other side as well.
        worse_than_other_percent: This side is worse than the other by at least this share
            of the other side's value.
        worse_than_other_by: The same, by at least this much in the measure's unit.
        slowing_percent: The mean split of the last third is longer than that of the first
            third by at least this share.
        slower_than: The measure is longer than this other one, by at least ``by_percent``.
        by_percent: By how much of the other measure.
    """

    measure: Id | None = None
    standing: Literal["meets", "short of the line"] | None = None
    at_least: float | None = None
    at_most: float | None = None
    signs_any: tuple[Id, ...] = ()
    signs_none: tuple[Id, ...] = ()
    ended_any: tuple[Id, ...] = ()
    both_sides: bool = False
    worse_than_other_percent: Annotated[float, Field(gt=0, le=100)] | None = None
    worse_than_other_by: Annotated[float, Field(gt=0)] | None = None
    slowing_percent: Annotated[float, Field(gt=0, le=300)] | None = None
    slower_than: Id | None = None
    by_percent: Annotated[float, Field(gt=0, le=300)] | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Condition:
        about_measure = (
            self.standing,
            self.at_least,
            self.at_most,
            self.worse_than_other_percent,
            self.worse_than_other_by,
            self.slower_than,
        )
        if self.measure is None and any(part is not None for part in about_measure):
            raise ValueError('names no measure; add measure = "..."')
        if (self.slower_than is None) != (self.by_percent is None):
            raise ValueError("slower_than and by_percent belong together")
        if self == Condition.model_construct():
            raise ValueError("is empty, so it would always hold")
        return self
