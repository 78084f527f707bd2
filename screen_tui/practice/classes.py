"""A class: what it is to practise, in one short file, and the runs it handed in, as one table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import islice
from operator import itemgetter
from statistics import fmean
from typing import Annotated, Literal

from pydantic import Field, model_validator

from screen_tui.fields import Id, Line, Strict
from screen_tui.practice.case import Case
from screen_tui.practice.drawn import MOST_SEED, Difficulty, case_id, driver_of
from screen_tui.practice.run import PracticeRun
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.table import Cell, write_table

ASSIGNMENT_FORMAT = 1
MOST = 60


class ToDraw(Strict):
    """A patient to be drawn; which driver they have follows from the seed, and is not said."""

    difficulty: Difficulty
    seed: Annotated[int, Field(ge=0, le=MOST_SEED)]

    @property
    def title(self) -> str:
        return f"Drawn patient, {self.difficulty}, seed {self.seed}"

    def case_id(self, protocol: ScreenProtocol) -> str:
        """The id the case will have."""
        return case_id(driver_of(protocol, self.difficulty, self.seed), self.difficulty, self.seed)


def patient_id(patient: Case | ToDraw, protocol: ScreenProtocol) -> str:
    """The id of a case that is written, or that a patient will have when drawn."""
    return patient.case_id(protocol) if isinstance(patient, ToDraw) else patient.id


class Assignment(Strict):
    """A list for a class; ``cases`` come with the program or are in the same folder."""

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
    fitting = (
        seed
        for seed in range(first, MOST_SEED + 1)
        if not driver or driver_of(protocol, difficulty, seed) == driver
    )
    return tuple(islice(fitting, count))


COLUMNS = (
    *("student", "series", "case", "run", "begun", "minutes", "level", "seed"),
    *("answer", "drivers"),
    *("confidence", "right", "next_test", "needed", "needed_done", "must_refer", "refer_missed"),
    *("soon_enough", "unsafe", "wrong_ticks", "hits", "misses", "false_alarms", "rest", "timed"),
    *("mean_error_s", "counted", "mean_error_count", "start", "leave_out", "brier"),
)
"""What the table has of a run; the guide `class` says what each is."""


def class_table(runs: Sequence[PracticeRun]) -> str:
    """The table as comma-separated values, by student, series and time."""
    numbers = series_numbers(runs)
    rows = [_row(run) | {"series": numbers[run.student, run.series]} for run in runs]
    rows.sort(key=itemgetter("student", "series", "begun", "run"))
    return write_table(({name: _cell(row[name]) for name in COLUMNS} for row in rows), COLUMNS)


def series_numbers(runs: Iterable[PracticeRun]) -> dict[tuple[str, str], int]:
    """The numbers of the series of each student, from 1, the first begun first.

    With a second one, two students have the same code, or one practised at two computers.
    """
    numbers: dict[tuple[str, str], int] = {}
    students: Counter[str] = Counter()
    for run in sorted(runs, key=lambda one: (one.begun, one.id)):
        if (run.student, run.series) not in numbers:
            students[run.student] += 1
            numbers[run.student, run.series] = students[run.student]
    return numbers


def _row(run: PracticeRun) -> dict[str, object]:
    """What is in the run and its result under the same name, and what is worked out of them."""
    given, result = run.commitment, run.result
    named = (f"{one.driver} {one.side}" if one.side else one.driver for one in given.drivers)
    return {
        **dict(run),
        **dict(result),
        "run": run.id,
        "begun": run.begun.isoformat(),
        "minutes": round((run.finished - run.begun).total_seconds() / 60, 1),
        "answer": given.answer,
        "drivers": "; ".join(named),
        "confidence": given.confidence,
        "wrong_ticks": len(result.wrong_ticks),
        "timed": len(result.errors_s),
        "mean_error_s": _mean(result.errors_s),
        "counted": len(result.errors_repetitions),
        "mean_error_count": _mean(result.errors_repetitions),
    }


def _cell(value: object) -> Cell:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str | int | float) else None


def _mean(errors: tuple[float, ...]) -> float | None:
    return round(fmean(errors), 3) if errors else None
