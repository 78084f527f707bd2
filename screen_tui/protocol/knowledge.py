"""The clinical knowledge beside the tests: sources, signs, safety, drivers, exercises."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from screen_tui.fields import Goal, Id, Line, Load, MaybeLine, Precaution, ShortLabel, Strict
from screen_tui.protocol.tests import Condition

Provenance = Literal["published", "common practice, no source", "from memory", "clinical judgement"]


class Source(Strict):
    """One source, named once and referred to by its id.

    ``published`` means that the figures taken from it were read in a public page or abstract.
    A source ``from memory`` may be shown as provisional and never judges a result.
    """

    id: Id
    provenance: Provenance
    authors: MaybeLine = ""
    year: Annotated[int, Field(ge=1500, le=2500)] | None = None
    title: Line
    journal: MaybeLine = ""
    note: MaybeLine = ""

    @model_validator(mode="after")
    def _published_is_complete(self) -> Source:
        if self.provenance == "published" and not (self.authors and self.year and self.journal):
            raise ValueError("a published source needs authors, year, and journal or body")
        return self

    @property
    def citation(self) -> str:
        """The source in one line, as printed under a note."""
        if self.provenance == "published" or self.authors:
            mark = "" if self.provenance == "published" else f" [{self.provenance}]"
            return f"{self.authors} {self.year}. {self.title}. {self.journal}.{mark}"
        return f"{self.title} [{self.provenance}]"


class SourcesFile(Strict):
    """The whole of ``sources.toml``."""

    sources: tuple[Source, ...]


class Criterion(Strict):
    """As much of a criterion in words as a test can tell; all that is given must hold.

    It is read on the side of the driver, or on both where the driver has none. ``standing`` is
    against the judging line, ``at_least`` and ``at_most`` in the measure's unit, and ``max_pain``
    is the worst pain of the trials, 0 to 10, where it was asked. None of ``signs_none`` was seen.
    """

    test: Id
    measure: Id
    standing: Literal["meets"] | None = None
    at_least: float | None = None
    at_most: float | None = None
    max_pain: Annotated[int, Field(ge=0, le=10)] | None = None
    signs_none: tuple[Id, ...] = ()

    @model_validator(mode="after")
    def _asks_for_something(self) -> Criterion:
        if self.standing is None and self.at_least is None and self.at_most is None:
            raise ValueError("asks nothing of the measure; add standing, at_least or at_most")
        return self

    @property
    def condition(self) -> Condition:
        """The same without pain, as the rules of a test are written."""
        return Condition(
            measure=self.measure,
            standing=self.standing,
            at_least=self.at_least,
            at_most=self.at_most,
            signs_none=self.signs_none,
        )


class Sign(Strict):
    """Something that can be seen during a test; ``label`` fits a key on a narrow screen.

    ``no_evidence_because`` says why it speaks for no driver; without it some test must say what
    it does speak for.
    """

    id: Id
    label: ShortLabel
    seen_as: Line
    no_evidence_because: Line | None = None


class SignsFile(Strict):
    """The whole of ``signs.toml``."""

    signs: tuple[Sign, ...]


class Caution(Strict):
    """A safety question whose yes stops the screen: refer first.

    ``question`` is asked as it stands; ``details`` are the parts that make it a yes.
    ``for_patient`` is what to do next in plain words, without a diagnosis.
    """

    id: Id
    name: Line
    question: Line
    details: tuple[Line, ...] = ()
    means: Line
    next_step: Line
    for_patient: Line | None = None
    source: Id


class StopRule(Strict):
    """A reason to end a test at once."""

    text: Line
    source: Id


class CallRule(Strict):
    """A reason for the patient to call, at home, in plain words, and how soon."""

    text: Line
    urgency: Literal["emergency", "same-day", "clinic"]
    source: Id


class SafetyFile(Strict):
    """The whole of ``safety.toml``."""

    cautions: tuple[Caution, ...] = ()
    stop_rules: tuple[StopRule, ...] = ()
    call_rules: tuple[CallRule, ...] = ()


class Driver(Strict):
    """A cause that may stand behind the complaint.

    ``sided`` drivers belong to one leg; the others to the person. ``retest`` says what to test
    again and when, once the plan has begun.
    """

    id: Id
    name: Line
    meaning: Line
    sided: bool
    counts_against: Line
    source: Id
    retest: Line | None = None


class DriversFile(Strict):
    """The whole of ``drivers.toml``."""

    drivers: tuple[Driver, ...]


class ForPatient(Strict):
    """An exercise in plain words, for somebody who reads as a 12-year-old does.

    Short sentences, no term of the trade, no diagnosis. ``how`` is one step a line.
    """

    name: Line
    position: Line
    how: Annotated[tuple[Line, ...], Field(min_length=1, max_length=6)]
    dose: Line
    feel: Line
    stop: Line


class Exercise(Strict):
    """Something to start, for one driver; without goals it is for every goal.

    ``instead_of_standing`` marks what is only done while standing work is not allowed.
    ``progress_if`` is as much of ``progress_when`` as the tests can tell.
    ``for_patient`` stands on the patient's sheet; without it the fields above do.
    """

    id: Id
    name: Line
    driver: Id
    goals: tuple[Goal, ...] = ()
    load: Load
    not_with: tuple[Precaution, ...] = ()
    instead_of_standing: bool = False
    order: Annotated[int, Field(ge=1, le=99)]
    position: Line
    dose: Line
    cue: Line
    feel: Line
    stop: Line
    progress_when: Line
    progress_to: Line
    progress_if: tuple[Criterion, ...] = ()
    for_patient: ForPatient | None = None
    source: Id


class LeaveOut(Strict):
    """Something not to start for now, and why.

    ``always`` applies when there is a plan at all; ``driver-spoken-against`` when the findings
    speak clearly against the named driver on every side, nothing speaks for it, and there was
    no surgery within the year; ``no-standing`` when no standing work is allowed, and
    ``no-one-leg`` when it is, but not on one leg; ``pain-over-5`` when the pain in a trial
    passed 5 of 10; ``limit`` when the surgeon or physician has set the named ``limit``.
    """

    id: Id
    name: Line
    when: Literal[
        "always", "driver-spoken-against", "no-standing", "no-one-leg", "pain-over-5", "limit"
    ]
    driver: Id | None = None
    limit: Precaution | None = None
    reason: Line
    source: Id

    @model_validator(mode="after")
    def _limit_is_named(self) -> LeaveOut:
        if (self.when == "limit") != (self.limit is not None):
            raise ValueError('limit = "..." and when = "limit" belong together')
        return self


class ExercisesFile(Strict):
    """The whole of ``exercises.toml``."""

    exercises: tuple[Exercise, ...] = ()
    leave_out: tuple[LeaveOut, ...] = ()
