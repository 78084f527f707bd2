"""A test as a clinic runs it: one model, one file in ``protocols/tests/``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal, Union

from pydantic import Field, model_validator

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
from screen_tui.protocol.codes import Coded
from screen_tui.protocol.evidence import EvidenceRule
from screen_tui.protocol.lines import MeasurementError, Reference, ResultLine
from screen_tui.timing.kinds import KINDS
from screen_tui.timing.spec import TimingSpec

if TYPE_CHECKING:
    Timing = TimingSpec
else:
    # Which kinds there are is known once the modules of `kinds` are read.
    Timing = Annotated[Union[KINDS], Field(discriminator="kind")]  # noqa: UP007


class Instructions(Strict):
    """What the therapist sets up, says, watches for and guards against."""

    setup: Annotated[tuple[Line, ...], Field(min_length=1)]
    say: Line
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
    straight when the other was not measured; ``points`` the sum of ``points`` over the signs;
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
        "points",
        "rise-power",
        "stair-power",
    ]
    over_trials: Literal["best", "mean", "first", "last"]
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
    choices: tuple[Id, ...] = ()

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
    for_driver: Id


class Plausible(Strict):
    """The values a trial can have at all; others are refused at the field."""

    minimum: float
    maximum: float


class TestSpec(Strict):
    """One test, complete: how it is run, timed, judged and read."""

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
    timer: Timing
    plausible: Plausible
    instructions: Instructions
    signs: Annotated[tuple[Id, ...], Field(max_length=9)] = ()
    set_up: tuple[SetUp, ...] = ()
    cues: tuple[Cue, ...] = ()
    measures: tuple[ResultMeasure, ...] = ()
    points: SignPoints | None = None
    lines: tuple[ResultLine, ...] = ()
    references: tuple[Reference, ...] = ()
    errors: tuple[MeasurementError, ...] = ()
    evidence: tuple[EvidenceRule, ...] = ()
    not_judged_because: Line | None = None

    @property
    def sided(self) -> bool:
        """Whether each leg is tested on its own."""
        return self.sides == "each"

    @property
    def minutes_a_side(self) -> float:
        """The minutes of one leg, or of the whole where both stand together."""
        return self.minutes / 2 if self.sided else self.minutes

    def measure(self, measure_id: str) -> ResultMeasure:
        """The measure of that id."""
        return next(measure for measure in self.measures if measure.id == measure_id)

    def sem(self, measure_id: str) -> float | None:
        """The standard error of measurement at a line: the first the file gives, or None."""
        return next(
            (e.sem for e in self.errors if e.measure == measure_id and e.use != "change"), None
        )

    def sem_of_change(self, measure_id: str) -> float | None:
        """The standard error of measurement between two results: the first given, or None."""
        return next((error.sem for error in self.errors if error.measure == measure_id), None)
