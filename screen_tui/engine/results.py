"""The vocabulary of an assessment: what `assess` gives back, as frozen dataclasses.

Their fields, in this order, are what ``--json`` prints; annotations say what is rounded, given
another name or left out there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field, PlainSerializer, field_serializer

from screen_tui.fields import Side
from screen_tui.protocol.knowledge import Urgency
from screen_tui.protocol.tests import LineKind

Standing = Literal["meets", "near the line", "short of the line", "not judged"]
DriverStanding = Literal["likely", "possible", "not-supported"]
Outcome = Literal[
    "likely", "mixed", "possible", "undetermined", "nothing-found", "refer-first", "unloaded-only"
]

HIDDEN = Field(exclude=True)
OR_NULL = PlainSerializer(lambda text: text or None)
"""An empty text is null in JSON."""


def rounded(value: float | None, decimals: int) -> float | int | None:
    """Round; a number without decimals is a whole number, and nought is never negative."""
    if value is None:
        return None
    near = round(value, decimals) + 0.0
    return int(near) if decimals == 0 else near


def to(decimals: int) -> PlainSerializer:
    """Round a field to so many decimals in JSON."""
    return PlainSerializer(lambda value: rounded(value, decimals))


def _named(*names: str) -> PlainSerializer:
    """Give the places of tuples these names in JSON."""
    return PlainSerializer(lambda rows: [dict(zip(names, row, strict=True)) for row in rows])


def _places(drivers: Iterable[DriverResult]) -> list[dict[str, str | None]]:
    return [{"driver": one.driver, "side": one.side} for one in drivers]


@dataclass(frozen=True, slots=True)
class LineUsed:
    """The published line a result was held against; ``kind`` is that of `ResultLine`."""

    id: str
    meets: str
    limit: float
    meaning: str
    population: str
    source: str
    kind: LineKind


@dataclass(frozen=True, slots=True)
class ReferenceUsed:
    """The reference row beside a result; it does not judge.

    ``of`` says what ``mean`` is, for instance a median. ``percentile`` is None where the spread is
    unpublished or the sample reached the cap.
    """

    mean: float
    sd: float | None
    percentile: Annotated[float | None, to(1)]
    population: str
    source: str
    provisional: bool
    of: Literal["mean", "median", "usual value"] = "mean"


@dataclass(frozen=True, slots=True)
class Result:
    """One number of one test on one side, and its standing.

    Attributes:
        short: For ``near the line``, whether the value is on the bad side of it; for the other
            standings, whether it is short.
        why_not: Why it was not judged; empty when it was.
        in_words: What to say instead of the number: how far a trial without a value came, such as
            ``2 of 5``, or the name of a grade, such as ``1+``; else empty.
    """

    test: str
    side: Side | None
    measure: str
    label: str
    value: float | None
    unit: str
    decimals: Annotated[int, HIDDEN]
    standing: Standing
    short: bool
    why_not: Annotated[str, OR_NULL]
    line: LineUsed | None
    flags: tuple[LineUsed, ...]
    reference: ReferenceUsed | None
    near_within: Annotated[float | None, to(2)]
    symmetry_percent: Annotated[float | None, to(1)]
    slowing_percent: Annotated[float | None, to(1)]
    trials: tuple[float, ...]
    in_words: Annotated[str, HIDDEN] = ""

    @field_serializer("value", "trials")
    def _as_recorded(self, numbers: Any) -> Any:
        if isinstance(numbers, tuple):
            return [rounded(one, self.decimals) for one in numbers]
        return rounded(numbers, self.decimals)


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """What there is to say of one finding, whatever driver it is for.

    Attributes:
        leg: The leg it is about; None where it may be either, or is of the person.
        what: The sign, the measure, or the cue and what it changed; unique in test and side.
        trait: What it shows; findings of one trait count less together.
        there: Whether it was there; else that it was not is the finding.
        weight: By how much it is discounted, 1 for not at all.
        undone: For a cue that worked: what it took away came back without it.
    """

    test: str
    side: Side | None
    leg: Side | None
    what: str
    trait: str
    words: str
    there: bool
    weight: Annotated[float, to(3)] = 1.0
    source: str
    in_pain: bool = False
    cue: str = ""
    undone: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Noted):
    """One finding, and by how much it moved the odds of a driver, given everything else.

    It is ``direct`` where its own row speaks the same way of the driver; what only makes another
    explanation more or less likely is part of the sum and no reason to read.
    """

    factor: Annotated[float, to(3)]
    direct: Annotated[bool, HIDDEN] = True


@dataclass(frozen=True, slots=True)
class DriverResult:
    """A driver on one side (None: the person), with all that speaks for and against it.

    Attributes:
        chance: How likely it is, of 1. Judgement, as the rows it rests on are.
        least: The chance with the one test taken away that matters most to it.
        without: The chance with each test taken away in turn.
        after: The chance after each test, in the order done.
        supported_by: The tests that raised its odds by a quarter or more.
        rests_on: The tests of which any one, taken away, would lower the standing.
    """

    driver: str
    side: Side | None
    standing: DriverStanding
    chance: Annotated[float, to(3)]
    before: Annotated[float, to(3)]
    least: Annotated[float, HIDDEN]
    speaks_for: Annotated[tuple[Finding, ...], Field(serialization_alias="for")]
    speaks_against: Annotated[tuple[Finding, ...], Field(serialization_alias="against")]
    rests_on: tuple[str, ...]
    without: Mapping[str, Annotated[float, to(3)]]
    after: Annotated[Mapping[str, float], HIDDEN]
    supported_by: Annotated[tuple[str, ...], HIDDEN]


@dataclass(frozen=True, slots=True)
class NextTest:
    """An untested item and how much, per minute, it is expected to tell.

    Attributes:
        cue: The cue when a repeat of a test already done is meant; else empty.
        without: The cue that worked, when a repeat without it is meant; else empty.
        expected_bits: The expected fall in uncertainty about the drivers in question, in bits.
        between: The drivers in question.
    """

    test: str
    side: Side | None
    cue: Annotated[str, OR_NULL]
    without: Annotated[str, OR_NULL]
    minutes: float
    between: Annotated[tuple[tuple[str, Side | None], ...], _named("driver", "side")]
    expected_bits: Annotated[float, to(3)]
    per_minute: Annotated[float, to(3)]


@dataclass(frozen=True, slots=True)
class Start:
    """An exercise to start.

    Attributes:
        driver: The driver it is for; empty where none is named.
        why: What it is for where that is not the driver; else empty.
        with_helper: It is done only with somebody near.
        both_legs: Its driver is named on both legs; ``side`` is the first of them.
    """

    exercise: str
    driver: str
    side: Side | None
    name: str
    position: str = ""
    dose: str = ""
    cue: str = ""
    feel: str = ""
    stop: str = ""
    progress_when: str = ""
    progress_to: str = ""
    source: str = ""
    why: str = ""
    with_helper: bool = False
    both_legs: Annotated[bool, HIDDEN] = False


@dataclass(frozen=True, slots=True)
class Left:
    """What is not started for now, and why."""

    id: str
    name: str
    reason: str
    source: str


@dataclass(frozen=True, slots=True)
class Plan:
    """What to start and what to leave out; both empty when nothing is settled."""

    start: tuple[Start, ...] = ()
    leave_out: tuple[Left, ...] = ()


@dataclass(frozen=True, slots=True)
class MeasureChange:
    """What a cue did to one number.

    ``error`` is the minimal detectable change (95 %); None where none is published, and then
    the ``verdict`` is ``not judged``; else it is ``better``, ``worse`` or ``within error``.
    """

    measure: str
    label: str
    unit: str
    decimals: int
    before: float
    after: float
    error: float | None
    verdict: str


@dataclass(frozen=True, slots=True)
class CueEffect:
    """What a test looked like when it was repeated with a cue: signs gone, still there, new."""

    test: str
    side: Side | None
    cue: str
    cured: tuple[str, ...]
    persists: tuple[str, ...]
    appeared: tuple[str, ...]
    changes: tuple[MeasureChange, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """After which test a driver's chance came to be, or stopped being, possible or likely."""

    test: str
    driver: str
    side: Side | None
    before: DriverStanding
    after: DriverStanding


@dataclass(frozen=True, slots=True)
class Pointer:
    """Something outside the drivers that findings or answers look like, and what to examine."""

    id: str
    name: str
    examine: str
    because: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True)
class CautionRaised:
    """A safety question answered yes, or one to be answered as if it were.

    ``because`` says what counts as the yes, such as the reason testing was stopped for; it is
    empty where the question was answered. ``ask`` is what to do where it must be asked again.
    """

    id: str
    name: str
    urgency: Urgency
    means: str
    next_step: str
    source: str
    because: str = ""
    ask: str = ""


@dataclass(frozen=True, slots=True)
class PrecautionRaised:
    """What the plan must heed, and what made it arise.

    ``urgency`` says how soon somebody else should see the person meanwhile, where one should.
    """

    id: str
    words: str
    source: str
    urgency: Urgency | None = None


@dataclass(frozen=True, slots=True)
class Assessment:
    """The whole meaning of a session.

    Attributes:
        leading: The driver, or drivers when mixed, that the outcome is about; best first.
        drivers: Best first; sided drivers once per side.
        next_tests: What would settle it, most per minute first.
        not_done: (test, side, reason) of everything that was not done.
        remarks: What a reader must know, such as a protocol that has changed since.
    """

    outcome: Outcome
    headline: str
    leading: Annotated[tuple[DriverResult, ...], PlainSerializer(_places)]
    results: tuple[Result, ...]
    cue_effects: tuple[CueEffect, ...]
    drivers: tuple[DriverResult, ...]
    next_tests: tuple[NextTest, ...]
    plan: Plan
    cautions: tuple[CautionRaised, ...]
    precautions: tuple[PrecautionRaised, ...] = ()
    not_done: Annotated[
        tuple[tuple[str, Side | None, str], ...],
        _named("test", "side", "reason"),
        Field(serialization_alias="not_tested"),
    ] = ()
    outside: tuple[Pointer, ...] = ()
    remarks: tuple[str, ...] = ()
