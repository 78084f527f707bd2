"""What a student commits to before the answer is shown, and how far others agree with it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field, model_validator

from screen_tui.engine.results import Assessment, Outcome
from screen_tui.fields import Id, Strict
from screen_tui.practice.case import TrueDriver, TrueTest, Truth
from screen_tui.session.model import FreeText

Answer = Literal["driver", "nothing-found", "undetermined", "refer-first"]
"""What a student can answer: one driver or two that cannot be told apart, or none."""


class Commitment(Strict):
    """The answer of a student.

    Attributes:
        answer: The kind of answer.
        drivers: For ``driver``, the driver and its side; two when they cannot be told apart.
        confidence: 1 to 5; `confidence.IN_WORDS` says what each means.
        next_test: What the student would test next; None for nothing more.
        start: Ids of the exercises to start.
        leave_out: Ids of what not to start for now.
        why: The student's own words.
    """

    answer: Answer
    drivers: Annotated[tuple[TrueDriver, ...], Field(max_length=2)] = ()
    confidence: Annotated[int, Field(ge=1, le=5)]
    next_test: TrueTest | None = None
    start: Annotated[tuple[Id, ...], Field(max_length=9)] = ()
    leave_out: Annotated[tuple[Id, ...], Field(max_length=9)] = ()
    why: FreeText = ""

    @model_validator(mode="after")
    def _drivers_belong_to_a_driver(self) -> Commitment:
        if (self.answer == "driver") != bool(self.drivers):
            raise ValueError('drivers and answer = "driver" belong together')
        if len({named.driver for named in self.drivers}) != len(self.drivers):
            raise ValueError("names one driver twice; its sides are left, right or both")
        return self


@dataclass(frozen=True, slots=True)
class Wanted:
    """What somebody else answers: the author of a case, or the engine.

    Attributes:
        outcome: The kind of answer, in the words of the engine.
        drivers: The driver or drivers, with their sides.
        next_tests: Any of them is a good next test; none asks for no more.
        start: Ids of the exercises.
        leave_out: Ids of what is left out.
    """

    outcome: Outcome
    drivers: tuple[TrueDriver, ...]
    next_tests: tuple[TrueTest, ...]
    start: tuple[str, ...]
    leave_out: tuple[str, ...]

    @classmethod
    def by_author(cls, truth: Truth) -> Wanted:
        """What the author of a case wants."""
        return cls(truth.outcome, truth.drivers, truth.next_tests, truth.start, truth.leave_out)

    @classmethod
    def by_engine(cls, found: Assessment) -> Wanted:
        """What the engine answers."""
        sides: dict[str, set[str | None]] = {}
        for leading in found.leading:
            sides.setdefault(leading.driver, set()).add(leading.side)
        return cls(
            found.outcome,
            tuple(TrueDriver(driver=name, side=_one_side(of)) for name, of in sides.items()),
            tuple(TrueTest(test=n.test, side=n.side, cue=n.cue) for n in found.next_tests),
            tuple(start.exercise for start in found.plan.start),
            tuple(left.id for left in found.plan.leave_out),
        )

    @property
    def answer(self) -> Answer:
        """The kind of answer as a student gives it."""
        match self.outcome:
            case "refer-first" | "nothing-found" | "undetermined":
                return self.outcome
        return "driver" if self.drivers else "undetermined"


@dataclass(frozen=True, slots=True)
class Agreement:
    """How far a student's answer is somebody else's.

    Attributes:
        answer: The kind of answer is the same.
        drivers: All drivers are the same; true where neither names any.
        sides: Each driver both name has the same side; None where no such driver has one.
        next_test: The next test is one of theirs, or neither wants one.
        start: The share that both would start of all that either would; 1 where neither would.
        leave_out: The same for what is left out.
    """

    answer: bool
    drivers: bool
    sides: bool | None
    next_test: bool
    start: float
    leave_out: float

    @property
    def right(self) -> bool:
        """The same answer, drivers and sides: what confidence is held against."""
        return self.answer and self.drivers and self.sides is not False


def agreement(given: Commitment, wanted: Wanted) -> Agreement:
    """Hold a student's answer against another."""
    theirs = {named.driver: named.side for named in wanted.drivers}
    mine = {named.driver: named.side for named in given.drivers}
    common = [driver for driver in mine if driver in theirs]
    told = [driver for driver in common if mine[driver] is not None or theirs[driver] is not None]
    nexts = set(wanted.next_tests)
    return Agreement(
        answer=given.answer == wanted.answer,
        drivers=set(mine) == set(theirs),
        sides=all(mine[driver] == theirs[driver] for driver in told) if told else None,
        next_test=given.next_test in nexts if given.next_test else not nexts,
        start=overlap(given.start, wanted.start),
        leave_out=overlap(given.leave_out, wanted.leave_out),
    )


def overlap(one: Iterable[str], other: Iterable[str]) -> float:
    """What two lists have in common as a share of all that stands in either; 1 for two empty ones.

    Jaccard P 1912. The distribution of the flora in the alpine zone. New Phytol 11:37-50 (from
    memory).
    """
    mine, theirs = set(one), set(other)
    return len(mine & theirs) / len(mine | theirs) if mine | theirs else 1.0


def _one_side(
    sides: Sequence[str | None] | set[str | None],
) -> Literal["left", "right", "both"] | None:
    """The side of a driver that leads on one leg, on both, or belongs to the person."""
    if {"left", "right"} <= set(sides):
        return "both"
    if "left" in sides:
        return "left"
    return "right" if "right" in sides else None
