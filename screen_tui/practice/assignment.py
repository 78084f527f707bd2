"""What a class is to practise: cases by their ids, and patients to be drawn, in one short file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from screen_tui.fields import Id, Line, Strict
from screen_tui.practice.drawn import MOST_SEED, Difficulty, case_id, driver_of
from screen_tui.protocol.model import ScreenProtocol

ASSIGNMENT_FORMAT = 1
MOST = 60

Seed = Annotated[int, Field(ge=0, le=MOST_SEED)]


class ToDraw(Strict):
    """A patient to be drawn; which driver they have follows from the seed, and is not said."""

    difficulty: Difficulty
    seed: Seed

    @property
    def title(self) -> str:
        return f"Drawn patient, {self.difficulty}, seed {self.seed}"

    def case_id(self, protocol: ScreenProtocol) -> str:
        """The id the case will have."""
        return case_id(driver_of(protocol, self.difficulty, self.seed), self.difficulty, self.seed)


class Assignment(Strict):
    """A list for a class.

    Attributes:
        practice_assignment: The version of the format.
        title: What the list is called.
        cases: Ids of cases that come with the program or lie in the same folder.
        drawn: Patients to be drawn.
    """

    practice_assignment: Literal[1] = 1
    title: Line
    cases: Annotated[tuple[Id, ...], Field(max_length=MOST)] = ()
    drawn: Annotated[tuple[ToDraw, ...], Field(max_length=MOST)] = ()

    @model_validator(mode="after")
    def _asks_for_something(self) -> Assignment:
        if not self.cases and not self.drawn:
            raise ValueError("names neither cases nor patients to be drawn")
        return self


def seeds_of(
    protocol: ScreenProtocol, difficulty: Difficulty, first: int, count: int, driver: str = ""
) -> tuple[int, ...]:
    """The next seeds from one on; with a driver, only those whose patient has it."""
    found: list[int] = []
    seed = first
    while len(found) < count and seed <= MOST_SEED:
        if not driver or driver_of(protocol, difficulty, seed) == driver:
            found.append(seed)
        seed += 1
    return tuple(found)
