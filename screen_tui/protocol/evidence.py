"""Whom a figure is about, what is asked of a test, and how often a finding is recorded.

The rows are those of the evidence network. Every cell says in how many of 100 people a therapist
records the finding: with none of the drivers (``none``), and with one driver alone. A driver that
is left out is as ``none``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import exp, log
from typing import Annotated, Literal, TypeVar

from pydantic import AfterValidator, BeforeValidator, Discriminator, Field, Tag, model_validator

from screen_tui.fields import Goal, Id, Line, MaybeLine, Strict, Surgery

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


_Band = TypeVar("_Band", bound=Band)


def band_for(bands: Iterable[_Band], age: int, sex: str) -> _Band | None:
    """The first band that a person belongs to, or None: never the nearest."""
    return next((band for band in bands if band.holds(age, sex)), None)


class Condition(Strict):
    """What is asked of a test. All that is given must hold for one test and one side.

    Attributes:
        measure: The measure that ``standing``, ``at_least`` and ``at_most`` are about.
        standing: The measure's standing against its judging line.
        at_least: The measure is at least this much, in its own unit.
        both_sides: The rest of the condition holds on the other side as well.
        worse_than_other_percent: This side is worse than the other by at least this share
            of the other side's value.
        worse_than_other_by: The same, by at least this much in the measure's unit.
        slowing_percent: The mean split of the last third is longer than that of the first
            third by at least this share.
        slower_than: The measure is longer than this other one, by at least ``by_percent``.
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


class InTest(Strict):
    """Something seen in one test."""

    test: Id
    when: Condition


Percent = Annotated[float, Field(ge=0.5, le=99.5)]
Odds = Annotated[float, Field(ge=0.1, le=10)]

NONE = "none"
"""The name of the cell for people with none of the drivers."""


def _as_number(key: object) -> object:
    # The keys of a TOML table are texts.
    return int(key) if isinstance(key, str) and key.isascii() and key.isdigit() else key


ByAge = Mapping[Annotated[Age, BeforeValidator(_as_number)], Percent]
"""A cell that depends on age: in between it is interpolated, outside the nearest one holds."""

Cell = Annotated[
    Annotated[Percent, Tag("always")] | Annotated[ByAge, Tag("by age")],
    Discriminator(lambda given: "by age" if isinstance(given, Mapping) else "always"),
]

Circumstance = Literal["early-after-surgery", "swollen", "shod", "short-of-straight"]
"""What makes another set of cells apply: surgery within 12 weeks, a swollen knee, shoes worn, and
a knee that was measured 5 degrees or more short of straight."""


def _has_ages(cells: Mapping[str, float | Mapping[int, float]]) -> Mapping[str, object]:
    for name, cell in cells.items():
        if isinstance(cell, Mapping) and len(cell) < 2:
            raise ValueError(f'gives "{name}" for fewer than two ages; one number is for all')
    return cells


def _has_none(cells: Mapping[str, object]) -> Mapping[str, object]:
    if NONE not in cells:
        raise ValueError(f'needs the cell "{NONE}": how often it is seen with none of the drivers')
    return cells


SomeCells = Annotated[Mapping[Id, Cell], AfterValidator(_has_ages)]
Cells = Annotated[SomeCells, AfterValidator(_has_none)]


def share(cell: float | Mapping[int, float], age: int) -> float:
    """A cell as a share of 1 at that age, interpolated on the scale of log-odds."""
    if isinstance(cell, float | int):
        return cell / 100
    ages = sorted(cell)
    if age <= ages[0] or age >= ages[-1]:
        return cell[ages[0] if age <= ages[0] else ages[-1]] / 100
    after = next(at for at in ages if age <= at)
    before = ages[ages.index(after) - 1]
    low, high = _log_odds(cell[before] / 100), _log_odds(cell[after] / 100)
    log_odds = low + (high - low) * (age - before) / (after - before)
    return 1 / (1 + exp(-log_odds))


def _log_odds(part: float) -> float:
    return log(part / (1 - part))


class Variant(Strict):
    """Cells that hold instead, in one circumstance; they replace those they name."""

    when: Circumstance
    in_100: SomeCells


class Row(Strict):
    """One row of the network, with its source or that it is judgement."""

    in_100: Cells
    instead: tuple[Variant, ...] = ()
    source: Id
    remark: MaybeLine = ""

    def shares(self, age: int, circumstances: Sequence[Circumstance] = ()) -> dict[str, float]:
        """The cells as shares of 1, for that age and under those circumstances."""
        cells = dict(self.in_100)
        for variant in self.instead:
            if variant.when in circumstances:
                cells |= variant.in_100
        return {
            name: cell / 100 if isinstance(cell, float) else share(cell, age)
            for name, cell in cells.items()
        }


class FindingRow(Row):
    """A finding that is there or not: a sign, or something a condition can tell.

    Attributes:
        sign: The sign it is about; else ``when`` says it.
        words: How it is named where it is no sign.
        trait: What it shows. Findings of one trait are not independent and count less.
        strength: Whether it is about strength or time, so that it is silent in pain.
    """

    sign: Id | None = None
    when: Condition | None = None
    words: MaybeLine = ""
    trait: Id
    strength: bool = False

    @model_validator(mode="after")
    def _about_one_thing(self) -> FindingRow:
        if (self.sign is None) == (self.when is None):
            raise ValueError("is about a sign or has a condition in when: one of the two")
        if self.when is not None and not self.words:
            raise ValueError('needs words = "...", how the finding is named')
        return self

    @property
    def name(self) -> str:
        return self.sign or self.words


class Limit(Band):
    """The figure of a line, or where a level of a number begins, for one band."""

    value: float


class Level(Row):
    """One cut of a number: how often it is so poor, or poorer.

    Attributes:
        per_step: The limits are seconds for one step of the flight.
        inclusive: The value itself belongs to the level.
        floor: Nearly everybody passes it, so passing it says nothing.
        silent: To be beyond it and no further says nothing; only passing it does.
    """

    words: Line
    limits: Annotated[tuple[Limit, ...], Field(min_length=1)]
    per_step: bool = False
    inclusive: bool = False
    floor: bool = False
    silent: bool = False

    def limit_for(self, age: int, sex: str) -> float | None:
        """Where the level begins for this person; None where it has no band for them."""
        band = band_for(self.limits, age, sex)
        return None if band is None else band.value


class Graded(Strict):
    """A number of a test with its levels, mildest first: one variable, not several findings."""

    measure: Id
    trait: Id
    strength: bool = True
    levels: Annotated[tuple[Level, ...], Field(min_length=1)]


class CueRow(Row):
    """What a cue changed, given that there was something to change.

    ``gone`` names a sign seen without the cue that is not seen with it. ``pain-eased``: at least
    2 points of 10 less, of 2 or more. ``faster``: poor before, better beyond measurement error.
    ``longer``: poor before, at least one and a half times as long. ``within-cut-off``: beyond the
    cut-off before, within it with the cue.
    """

    cue: Id
    gone: Id | None = None
    effect: Literal["pain-eased", "faster", "longer", "within-cut-off"] | None = None

    @model_validator(mode="after")
    def _one_effect(self) -> CueRow:
        if (self.gone is None) == (self.effect is None):
            raise ValueError("names the sign that goes (gone) or an effect: one of the two")
        return self

    @property
    def name(self) -> str:
        return f"{self.cue}/{self.gone or self.effect}"


class Prior(Strict):
    """How many of 100 have the driver before anything was tested, aged 40 to 64, not operated on.

    For a driver of the person both figures are the same. ``most_odds`` is the most that all odds
    together may come to, since they overlap.
    """

    driver: Id
    complaint_side: Percent
    other_side: Percent
    most_odds: Annotated[float, Field(ge=1, le=100)] | None = None
    source: Id
    remark: MaybeLine = ""

    @property
    def id(self) -> str:
        return self.driver


class PriorOdds(Strict):
    """By how much something known about the person multiplies the odds of each driver.

    ``odds`` gives one factor, or two: on the side of the complaint and on the other side.
    Of those with the same ``overlap`` only the strongest counts, for each driver.
    """

    id: Id
    words: Line
    from_age: Age | None = None
    to_age: Age | None = None
    surgery_weeks: Annotated[tuple[int, ...], Field(min_length=2, max_length=2)] | None = None
    surgery: Surgery | None = None
    complaint: Literal["pain", "giving-way", "weakness", "stiffness"] | None = None
    goals_any: tuple[Goal, ...] = ()
    odds: Mapping[Id, Odds | tuple[Odds, Odds]]
    overlap: Id | None = None
    source: Id
    remark: MaybeLine = ""


class CellOverride(Strict):
    """A cell of a clinic's own, with its source: the last folder that gives one holds.

    ``row`` names the row: a sign, the words of a finding, ``measure/level`` counted from 1, or
    ``cue/sign`` and ``cue/effect``.
    """

    test: Id
    row: Line
    driver: Id
    in_100: Percent
    source: Id

    @property
    def id(self) -> str:
        return f"{self.test}/{self.row}/{self.driver}"
