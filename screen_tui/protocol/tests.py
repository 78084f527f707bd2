"""A test as a clinic runs it: one model, one file in ``protocols/tests/``."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union

from pydantic import Field, StringConstraints, model_validator

from screen_tui.fields import (
    Id,
    Line,
    Load,
    Precaution,
    SetUpId,
    ShortLabel,
    Strict,
    refuse_control_characters,
)
from screen_tui.files.reasons import FieldPath
from screen_tui.protocol.evidence import (
    Band,
    CellOverride,
    CueRow,
    FindingRow,
    Graded,
    Limit,
    Row,
    band_for,
)
from screen_tui.timing.kinds import KINDS
from screen_tui.timing.spec import Movement, TimingSpec

Loinc = Annotated[str, StringConstraints(pattern=r"^[0-9]{1,7}-[0-9]\Z")]
Address = Annotated[str, StringConstraints(pattern=r"^https?://[!-~]+\Z", max_length=300)]
Ucum = Annotated[str, StringConstraints(pattern=r"^[!-~]+\Z", max_length=40)]


class Coded(Strict):
    """A number that other programs may know under a code.

    Attributes:
        loinc: The LOINC code, only where its published description fits what is done here.
        loinc_seen_at: The address of the public page where code and description were read.
        loinc_note: How far it fits, where that needs a word.
        ucum: The unit as UCUM writes it; where it is left out, the unit is exported as words.
    """

    loinc: Loinc | None = None
    loinc_name: Line | None = None
    loinc_seen_at: Address | None = None
    loinc_note: Line | None = None
    ucum: Ucum | None = None

    @model_validator(mode="after")
    def _code_was_seen(self) -> Coded:
        if self.loinc is None:
            if self.loinc_name or self.loinc_seen_at or self.loinc_note:
                raise ValueError("loinc_name, loinc_seen_at and loinc_note belong to a loinc")
            return self
        if self.loinc_seen_at is None:
            raise ValueError("a loinc needs loinc_seen_at, the address where it was read")
        if self.loinc_name is None:
            raise ValueError("a loinc needs loinc_name, its long common name")
        body, _, check = self.loinc.partition("-")
        if check != loinc_check_digit(body):
            raise ValueError(f"the loinc {self.loinc} is mistyped: its check digit does not fit")
        return self


def loinc_check_digit(body: str) -> str:
    """The digit behind the hyphen of a LOINC code.

    The Luhn sum modulo 10 (from memory; it gives the digits of the codes read so far).
    """
    total = 0
    for place, digit in enumerate(reversed(body)):
        doubled = int(digit) * (2 if place % 2 == 0 else 1)
        total += doubled // 10 + doubled % 10
    return str(-total % 10)


MDC95_OVER_SEM = 2.772
"""1.96 times the square root of two; Weir 2005, J Strength Cond Res 19:231-240 (from memory)."""


DIGITS = 9
"""So many things can be chosen with one key."""


class SetUpRange(Strict):
    """How a test must have been set up for a figure to hold, such as a seat of 41 to 45 cm.

    For what is chosen, ``one_of`` names the choices; for a number, ``minimum`` and ``maximum``.
    """

    id: SetUpId
    minimum: float | None = None
    maximum: float | None = None
    one_of: tuple[Id, ...] = ()

    def holds(self, value: float | str) -> bool:
        if isinstance(value, str):
            return value in self.one_of
        above = self.minimum is None or value >= self.minimum
        return above and (self.maximum is None or value <= self.maximum)


LineKind = Literal["percentile", "limit of a mean", "risk", "floor", "description"]
"""What a published limit is, and so what it may say.

A ``percentile`` has a known share of a sample on either side. A ``limit of a mean`` is the end of
the interval of a mean, beyond which half of the healthy may be. A ``risk`` cut-off goes with
worse outcomes. A ``floor`` is passed by nearly everybody. A ``description`` names a grade or a
criterion.
"""

SILENT_WHEN_MET: frozenset[LineKind] = frozenset({"limit of a mean", "risk", "floor"})
"""Kinds of which the good side says nothing: it is where the ill are as well."""


class ResultLine(Strict):
    """A cut-off a result is compared with.

    ``kind`` says what sort of limit it is. ``meets`` says which side of the limit is good, and
    whether the limit itself is good. A line with the role ``judge`` gives the standing: the first
    of them with a band for the person does. A ``flag`` is named in addition when the result is on
    its bad side. ``only_steps`` restricts the line to a flight of that many steps, ``only_when``
    to the set-up the figure was measured with.
    """

    id: Id
    kind: LineKind
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
        """The limit for this person, or None where the table has no band."""
        band = band_for(self.limits, age, sex)
        return None if band is None else band.value

    def met_by(self, value: float, limit: float) -> bool:
        """Whether an unrounded value is on the good side of the limit."""
        return {
            "at least": value >= limit,
            "more than": value > limit,
            "at most": value <= limit,
            "less than": value < limit,
        }[self.meets]


class ReferenceRow(Band):
    """Mean, and where published the standard deviation, of one band; see `Reference.of`."""

    mean: float
    sd: float | None = None


class Reference(Strict):
    """Values of a reference sample, shown beside a result; they do not judge it.

    ``no_percentile_because`` says why mean and spread give no percentile: most of the sample
    reached the cap, say, or the spread is skewed. ``of`` says what the middle of the rows is.
    """

    measure: Id
    of: Literal["mean", "median", "usual value"] = "mean"
    rows: Annotated[tuple[ReferenceRow, ...], Field(min_length=1)]
    population: Line
    source: Id
    no_percentile_because: Line | None = None
    only_steps: int | None = None

    def row_for(self, age: int, sex: str) -> ReferenceRow | None:
        """The row for this person, or None where the table has no band."""
        return band_for(self.rows, age, sex)


class MeasurementError(Band):
    """How far a result may be off, or two results apart, without anything having changed.

    It is about the people of its band and about results as far apart as ``between`` says: trials
    of one visit, or visits. It is used for nobody and nothing else.

    An error whose size grows with the result, as that of long holds does, says nothing at a
    line far below the sample's mean: it is then used for ``change`` only.
    """

    measure: Id
    kind: Literal["SEM", "MDC90", "MDC95"]
    value: Annotated[float, Field(gt=0)]
    between: Literal["trials", "visits"]
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


if TYPE_CHECKING:
    Timing = TimingSpec
else:
    # Which kinds there are is known once the modules of `kinds` are read.
    Timing = Annotated[Union[KINDS], Field(discriminator="kind")]  # noqa: UP007


class Instructions(Strict):
    """What the therapist sets up, says, watches for and guards against.

    ``say_down`` is what is said before coming down, where a test goes up and down.
    """

    setup: Annotated[tuple[Line, ...], Field(min_length=1)]
    say: Line
    say_down: Line | None = None
    ends_when: Annotated[tuple[Line, ...], Field(min_length=1)]
    safety: Line
    equipment: tuple[Line, ...] = ()
    record: tuple[Line, ...] = ()
    source: Id


class ResultMeasure(Coded):
    """One number a test yields.

    ``taken_from`` names the calculation:
    ``value`` the trial's own value; ``speed`` the distance divided by the time;
    ``time-up`` and ``time-down`` the time of a flight; ``passive`` the passive extension;
    ``lag`` active minus passive; ``deficit`` passive extension short of the other knee, or of
    straight when the other was not measured; ``behind-other`` how far the value is behind the
    best of the other leg, where more is better; ``repetitions`` how many of the wanted ones were
    done; ``points`` the sum of ``points`` over the signs;
    ``rise-power`` and ``stair-power`` watts per kilogram, where height and mass are known.
    ``over_trials`` says which trial counts. ``source`` is that of the calculation, where it has
    one of its own.
    """

    id: Id
    label: Line
    unit: Line
    decimals: Annotated[int, Field(ge=0, le=2)]
    better: Literal["higher", "lower"]
    taken_from: Literal[
        "value",
        "speed",
        "time-up",
        "time-down",
        "passive",
        "lag",
        "deficit",
        "behind-other",
        "repetitions",
        "points",
        "rise-power",
        "stair-power",
    ]
    over_trials: Literal["best", "worst", "mean", "first", "last"]
    source: Id | None = None


class SignPoints(Strict):
    """A published score that is a sum over signs; of a group of signs only the most counts."""

    source: Id
    groups: tuple[dict[Id, int], ...]


class SetUp(Strict):
    """One thing about the set-up that changes results and is recorded with each trial.

    ``usual`` is recorded unless the therapist changes it: a number with its unit and limits,
    or one of ``choices``.
    """

    id: SetUpId
    label: ShortLabel
    usual: float | Id
    unit: Annotated[str, Field(max_length=20), refuse_control_characters] = ""
    minimum: float | None = None
    maximum: float | None = None
    choices: Annotated[tuple[Id, ...], Field(max_length=DIGITS)] = ()

    @model_validator(mode="after")
    def _usual_fits(self) -> SetUp:
        if isinstance(self.usual, str) != bool(self.choices):
            raise ValueError("a word needs choices, and a number must not have any")
        if isinstance(self.usual, str):
            if self.usual not in self.choices:
                raise ValueError(f"the usual {self.usual!r} is none of the choices")
        elif self.minimum is None or self.maximum is None:
            raise ValueError("a number needs minimum and maximum")
        elif not self.minimum <= self.usual <= self.maximum:
            raise ValueError("the usual value is outside minimum and maximum")
        return self


class Cue(Strict):
    """A single instruction after which the test is repeated."""

    id: Id
    say: Line


class Plausible(Strict):
    """The values a trial can have at all; others are refused at the field."""

    minimum: float
    maximum: float


class TestSpec(Strict):
    """One test, complete: how it is run, timed, judged and read.

    ``rest_after_s`` is the rest after it before anything in standing. ``movement`` is how a
    simulated patient moves in it, where that is not as in others of its kind.
    """

    __test__ = False

    id: Id
    name: Line
    short_name: ShortLabel
    asks: Line
    sides: Literal["each", "both"]
    load: Load
    not_with: tuple[Precaution, ...] = ()
    minutes: Annotated[float, Field(gt=0, le=15)]
    trials: Annotated[int, Field(ge=1, le=5)]
    rest_after_s: Annotated[float, Field(ge=0, le=600)] = 0
    timer: Timing
    movement: Movement | None = None
    plausible: Plausible
    instructions: Instructions
    signs: Annotated[tuple[Id, ...], Field(max_length=DIGITS)] = ()
    set_up: tuple[SetUp, ...] = ()
    cues: Annotated[tuple[Cue, ...], Field(max_length=DIGITS)] = ()
    measures: tuple[ResultMeasure, ...] = ()
    points: SignPoints | None = None
    lines: tuple[ResultLine, ...] = ()
    references: tuple[Reference, ...] = ()
    errors: tuple[MeasurementError, ...] = ()
    findings: tuple[FindingRow, ...] = ()
    graded: tuple[Graded, ...] = ()
    cue_effects: tuple[CueRow, ...] = ()
    not_judged_because: Line | None = None

    @property
    def sided(self) -> bool:
        return self.sides == "each"

    @property
    def minutes_a_side(self) -> float:
        """The minutes of one leg, or of the whole where both stand together."""
        return self.minutes / 2 if self.sided else self.minutes

    def measure(self, measure_id: str) -> ResultMeasure:
        return next(measure for measure in self.measures if measure.id == measure_id)

    def error_at_line(self, measure_id: str, age: int, sex: str) -> MeasurementError | None:
        """The error that makes a result near a line: the first the file gives for this person."""
        return next((e for e in self._errors(measure_id, age, sex) if e.use != "change"), None)

    def errors_between(
        self, between: Literal["trials", "visits"], measure_id: str, age: int, sex: str
    ) -> tuple[MeasurementError, ...]:
        """The errors of a difference between trials, or between visits, for this person."""
        return tuple(e for e in self._errors(measure_id, age, sex) if e.between == between)

    def _errors(self, measure_id: str, age: int, sex: str) -> list[MeasurementError]:
        return [one for one in self.errors if one.measure == measure_id and one.holds(age, sex)]


def rows_of(test: TestSpec) -> Iterator[tuple[FieldPath, str, Row]]:
    """Every row of a test with its place in the file and its name, as `CellOverride` gives it."""
    for index, finding in enumerate(test.findings):
        yield ("findings", index), finding.name, finding
    for index, graded in enumerate(test.graded):
        for place, level in enumerate(graded.levels):
            yield ("graded", index, "levels", place), f"{graded.measure}/{place + 1}", level
    for index, cue in enumerate(test.cue_effects):
        yield ("cue_effects", index), cue.name, cue


def with_cells(test: TestSpec, cells: Iterable[CellOverride]) -> TestSpec:
    """The test with those of the cells that are about it; a cell for a row it lacks is left out."""
    own = [cell for cell in cells if cell.test == test.id]
    if not own:
        return test
    data = test.model_dump()
    for path, name, _row in rows_of(test):
        row: Any = data
        for part in path:
            row = row[part]
        row["in_100"] |= {cell.driver: cell.in_100 for cell in own if cell.row == name}
    return TestSpec.model_validate(data)
