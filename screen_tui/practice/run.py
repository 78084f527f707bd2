"""One practice run as it is saved, how somebody gets on over several, and a class.

A run is no session: it is in a folder of its own, in a format of its own, and is about an
invented person. A class has one short file that says what it is to practise, and hands in runs.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from functools import reduce
from itertools import islice
from operator import add, itemgetter
from statistics import fmean
from typing import Annotated, Literal

from pydantic import AwareDatetime, Field, model_validator

from screen_tui.fields import Id, Line, Strict
from screen_tui.practice.agreement import (
    Calibration,
    Counts,
    Limits,
    calibration,
    limits_of_agreement,
)
from screen_tui.practice.case import Case, Interview, QuestionId
from screen_tui.practice.drawn import MOST_SEED, Difficulty, case_id, driver_of
from screen_tui.practice.scoring import UNITS, Commitment, Score, Unit
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.table import Cell, write_table
from screen_tui.session.model import (
    Client,
    FreeText,
    Intake,
    Label,
    Session,
    SessionId,
    Skip,
    Trial,
)

RUN_FORMAT = 2

Level = Literal["words", "figure"]
"""What a student has to go by: the figure with words beside it, or the figure alone."""

Share = Annotated[float, Field(ge=0, le=1)]
Count = Annotated[int, Field(ge=0)]


class Result(Strict):
    """The figures of a run, saved so that they stay as they were when a case is changed.

    Attributes:
        soon_enough: And was referred as soon as needed; None where nobody was referred who had to.
        needed: How many tests and repeats with a cue the program's answer rests on.
    """

    errors_s: tuple[float, ...] = ()
    errors_repetitions: tuple[float, ...] = ()
    hits: Count = 0
    misses: Count = 0
    false_alarms: Count = 0
    rest: Count = 0
    wrong_ticks: tuple[QuestionId, ...] = ()
    must_refer: bool
    refer_missed: bool
    soon_enough: bool | None = None
    unsafe: Count
    needed: Count = 0
    needed_done: Count = 0
    right: bool
    right_by_engine: bool
    next_test: bool
    start: Share
    leave_out: Share
    brier: Share

    @classmethod
    def of(cls, score: Score) -> Result:
        errors = {
            f"errors_{unit}": tuple(round(one.error, 3) for one in score.pairs if one.unit == unit)
            for unit in UNITS
        }
        return cls(
            **errors,
            **asdict(score.sign_counts),
            wrong_ticks=score.wrong_ticks,
            must_refer=score.safety.must_refer,
            refer_missed=score.safety.refer_missed,
            soon_enough=score.safety.soon_enough,
            unsafe=len(score.safety.unsafe),
            needed=len(score.needed),
            needed_done=len(score.needed) - len(score.not_done),
            right=score.with_author.right,
            right_by_engine=score.with_engine.right,
            next_test=score.with_author.next_test,
            start=round(score.with_author.start, 3),
            leave_out=round(score.with_author.leave_out, 3),
            brier=round(score.brier, 4),
        )

    def errors(self, unit: Unit) -> tuple[float, ...]:
        return self.errors_s if unit == "s" else self.errors_repetitions

    @property
    def sign_counts(self) -> Counts:
        return Counts(self.hits, self.misses, self.false_alarms, self.rest)


class PracticeRun(Strict):
    """One run of one case by one student.

    Attributes:
        student: The code of who practised, never a name; empty when nobody says.
        series: The id of the first run with that code in its folder: two students with one code
            have two series.
        seal: A digest of all the rest, which no longer fits once that is changed by hand; empty
            in runs of the first format.
    """

    practice_run: Literal[2] = 2
    id: SessionId
    case: Id
    case_digest: FreeText
    protocol: Id
    protocol_digest: FreeText
    seed: Annotated[int, Field(ge=0, le=2**31)]
    level: Level = "words"
    student: Literal[""] | Label = ""
    series: Literal[""] | SessionId = ""
    begun: AwareDatetime
    finished: AwareDatetime
    asked: Mapping[QuestionId, Count] = Field(default_factory=dict)
    patient: Client
    intake: Intake
    commitment: Commitment
    result: Result
    trials: tuple[Trial, ...] = ()
    skipped: tuple[Skip, ...] = ()
    seal: Annotated[str, Field(max_length=80)] = ""

    @property
    def sealed(self) -> PracticeRun:
        bare = self.model_copy(update={"seal": ""})
        return self.model_copy(update={"seal": digest_of(bare)})

    @property
    def unchanged(self) -> bool:
        """Whether the seal fits."""
        return self == self.sealed


def finished_run(
    case: Case,
    seed: int,
    session: Session,
    interview: Interview,
    commitment: Commitment,
    score: Score,
    now: datetime,
    student: str = "",
    level: Level = "words",
    series: str = "",
) -> PracticeRun:
    """The record of a run that is over; ``series`` is "" where it is the student's first."""
    return PracticeRun(
        id=session.id,
        case=case.id,
        case_digest=digest_of(case),
        protocol=session.protocol,
        protocol_digest=session.protocol_digest,
        seed=seed,
        level=level,
        student=student,
        series=series or session.id,
        begun=session.started,
        finished=now,
        asked=dict(interview.asked),
        patient=session.client,
        intake=session.intake,
        commitment=commitment,
        result=Result.of(score),
        trials=session.trials,
        skipped=session.skipped,
    ).sealed


def series_of(runs: Iterable[PracticeRun], student: str) -> str:
    """The id of a student's first run among those of a folder; "" before there is one."""
    own = [run for run in runs if run.student == student]
    first = min(own, key=lambda run: (run.begun, run.id), default=None)
    return "" if first is None else first.series or first.id


def digest_of(contents: Strict) -> str:
    """``sha256:`` and the hash of a file's contents; layout and comments do not change it."""
    return "sha256:" + hashlib.sha256(contents.model_dump_json().encode()).hexdigest()


Better = Literal["lower", "higher"]


@dataclass(frozen=True, slots=True)
class ChartLine:
    """One figure over the runs, oldest first, with all a chart needs.

    Attributes:
        label: At most 34 characters.
        unit: "" for a share.
        values: One for each run; None where the run tells nothing of it.
    """

    id: str
    label: str
    unit: str
    better: Better
    values: tuple[float | None, ...]

    @property
    def low(self) -> float:
        """The lower end of the scale: kappa can be below that of chance."""
        return min([0.0, *(value or 0.0 for value in self.values)])

    @property
    def high(self) -> float:
        """The upper end, always above the lower one."""
        return max([1.0, *(value or 0.0 for value in self.values)]) if self.unit else 1.0

    def share(self, value: float | None) -> float | None:
        """Where on the scale a value is, from 0, the lower end, to 1."""
        return None if value is None else (value - self.low) / (self.high - self.low)


@dataclass(frozen=True, slots=True)
class Progress:
    """All runs together, and each figure run by run.

    Attributes:
        limits: Over all trials of all runs, by unit, where there are any.
        signs: Of the runs with the figure alone.
    """

    runs: int
    limits: tuple[tuple[Unit, Limits], ...]
    signs: Counts
    right: int
    must_refer: int
    refer_missed: int
    unsafe: int
    needed: int
    needed_done: int
    calibration: Calibration | None
    lines: tuple[ChartLine, ...]


def progress_of(runs: Sequence[PracticeRun], student: str = "") -> Progress:
    """Sum up runs, in any order; those of one student where a code is given."""
    mine = sorted(
        (run for run in runs if not student or run.student == student),
        key=lambda run: (run.begun, run.id),
    )
    results = [run.result for run in mine]
    pooled = {
        unit: limits_of_agreement([error for one in results for error in one.errors(unit)])
        for unit in UNITS
    }
    return Progress(
        runs=len(mine),
        limits=tuple((unit, limits) for unit, limits in pooled.items() if limits is not None),
        signs=reduce(add, map(_by_eye, mine), Counts()),
        right=sum(one.right for one in results),
        must_refer=sum(one.must_refer for one in results),
        refer_missed=sum(one.refer_missed for one in results),
        unsafe=sum(one.unsafe for one in results),
        needed=sum(one.needed for one in results),
        needed_done=sum(one.needed_done for one in results),
        calibration=calibration((run.commitment.confidence, run.result.right) for run in mine),
        lines=tuple(
            ChartLine(figure, label, unit, better, tuple(map(of, mine)))
            for figure, label, unit, better, of in _FIGURES
        ),
    )


def _by_eye(run: PracticeRun) -> Counts:
    """The signs of a run; none where they were put in words, which measures no eye."""
    return run.result.sign_counts if run.level == "figure" else Counts()


def _needed(run: PracticeRun) -> float | None:
    return run.result.needed_done / run.result.needed if run.result.needed else None


def _mean_size(errors: Sequence[float]) -> float | None:
    return fmean(map(abs, errors)) if errors else None


_FIGURES: tuple[tuple[str, str, str, Better, Callable[[PracticeRun], float | None]], ...] = (
    ("time", "Mean error of times", "s", "lower", lambda run: _mean_size(run.result.errors_s)),
    (
        "count",
        "Mean error of counts",
        "repetitions",
        "lower",
        lambda run: _mean_size(run.result.errors_repetitions),
    ),
    ("seen", "Signs seen of those there", "", "higher", lambda run: _by_eye(run).sensitivity),
    (
        "false-alarms",
        "Signs marked of those not there",
        "",
        "lower",
        lambda run: _by_eye(run).false_alarm_rate,
    ),
    ("kappa", "Agreement on signs (kappa)", "", "higher", lambda run: _by_eye(run).kappa),
    (
        "ticks",
        "Questions answered wrong",
        "questions",
        "lower",
        lambda run: len(run.result.wrong_ticks),
    ),
    ("needed", "Needed tests that were done", "", "higher", _needed),
    ("unsafe", "Tests begun unsafely", "tests", "lower", lambda run: run.result.unsafe),
    ("right", "Answer as the author's", "", "higher", lambda run: float(run.result.right)),
    ("brier", "Brier score of confidence", "", "lower", lambda run: run.result.brier),
)
"""(id, label, unit, better, figure)."""


# A class: what it is to practise, and the runs it handed in, as one table.

ASSIGNMENT_FORMAT = 1
MOST_ASSIGNED = 60


class ToDraw(Strict):
    """A patient to be drawn; which driver they have follows from the seed, and is not said."""

    difficulty: Difficulty
    seed: Annotated[int, Field(ge=0, le=MOST_SEED)]

    @property
    def title(self) -> str:
        return f"Drawn patient, {self.difficulty}, seed {self.seed}"


def patient_id(patient: Case | ToDraw, protocol: ScreenProtocol) -> str:
    """The id of a case that is written, or that a patient will have when drawn."""
    if isinstance(patient, Case):
        return patient.id
    driver = driver_of(protocol, patient.difficulty, patient.seed)
    return case_id(driver, patient.difficulty, patient.seed)


class Assignment(Strict):
    """A list for a class; ``cases`` come with the program or are in the same folder."""

    practice_assignment: Literal[1] = 1
    title: Line
    cases: Annotated[tuple[Id, ...], Field(max_length=MOST_ASSIGNED)] = ()
    drawn: Annotated[tuple[ToDraw, ...], Field(max_length=MOST_ASSIGNED)] = ()

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
