"""The clinical knowledge beside the tests: sources, signs, safety, drivers, exercises, history."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from screen_tui.fields import (
    Goal,
    Id,
    Line,
    Load,
    Look,
    MaybeLine,
    Precaution,
    ShortLabel,
    Strict,
    Surgery,
    refuse_control_characters,
)
from screen_tui.protocol.evidence import Age, Condition, InTest

Provenance = Literal["published", "common practice, no source", "from memory", "clinical judgement"]


class Entry(Strict):
    """An entry of a table, with the id of the source it rests on."""

    id: Id
    source: Id


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
            raise ValueError("asks nothing of the measure; add `standing`, at_least or at_most")
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

    ``digit`` is its key in every test. ``from_front`` and ``from_side`` say how it looks on a
    simulated patient, without its name; where neither does, no patient is drawn with it.
    ``no_evidence_because`` says why it speaks for or against no driver: it needs no row then.
    """

    id: Id
    label: ShortLabel
    digit: Annotated[int, Field(ge=1, le=9)]
    seen_as: Line
    from_front: Look = ""
    from_side: Look = ""
    no_evidence_because: MaybeLine = ""


LineLabel = Annotated[str, StringConstraints(max_length=46), refuse_control_characters]
"""A name that fits a line of the narrowest page, or nothing."""

Urgency = Literal["now", "today", "days"]
"""How soon somebody else must see the person: an emergency, the same day, or within days."""


class Caution(Entry):
    """A safety question whose yes stops the screen: refer first.

    ``label`` is its line among the others before testing, the ``name`` when left out.
    ``question`` is asked as it stands; ``details`` are the parts that make it a yes.
    ``for_patient`` is what to do next in plain words, without a diagnosis. ``stop_words`` are
    words that, in the reason a session was stopped for, mean the same as a yes. Somebody younger
    than ``today_below`` is seen the same day at the latest.
    """

    name: Line
    label: LineLabel = ""
    urgency: Urgency
    question: Line
    details: tuple[Line, ...] = ()
    means: Line
    next_step: Line
    for_patient: Line | None = None
    stop_words: tuple[Line, ...] = ()
    today_below: Age | None = None

    def urgency_at(self, age: int) -> Urgency:
        sooner = self.today_below is not None and age < self.today_below
        return "today" if sooner and self.urgency == "days" else self.urgency


class SeenIn(Strict):
    """What was seen in one test: a condition as in the test's file, or that it was not possible.

    ``unable`` holds where a trial was broken off as not possible, or the test was left out since
    it had been tried and was not.
    """

    test: Id
    when: Condition | None = None
    unable: bool = False

    @model_validator(mode="after")
    def _asks_one_thing(self) -> SeenIn:
        if self.unable == (self.when is not None):
            raise ValueError("needs either when = { ... } or unable = true")
        return self


class Circumstance(Strict):
    """What makes a rule apply to a person; all that is given must hold.

    Attributes:
        because: The same in words, as it is read behind the rule's own.
        not_operated: On a knee without surgery within the year; with ``seen``, on that knee.
        cautions: One of these safety questions was answered yes, cleared ones too.
        pain_above: The pain before testing, or in a trial, was above this, of 10.
        seen: All of it was seen, on one and the same leg where the test has sides.
    """

    because: Line
    from_age: Age | None = None
    to_age: Age | None = None
    surgery: tuple[Surgery, ...] = ()
    weeks_from: Annotated[int, Field(ge=0, le=520)] | None = None
    weeks_below: Annotated[int, Field(ge=1, le=520)] | None = None
    not_operated: bool = False
    alone_at_home: bool = False
    cautions: tuple[Id, ...] = ()
    history: dict[Id, tuple[Id, ...]] = Field(default_factory=dict)
    pain_above: Annotated[int, Field(ge=0, le=9)] | None = None
    seen: tuple[SeenIn, ...] = ()

    @model_validator(mode="after")
    def _says_something(self) -> Circumstance:
        if self == Circumstance.model_construct(because=self.because):
            raise ValueError("asks for nothing, so the rule would always apply")
        return self


Circumstances = Annotated[tuple[Circumstance, ...], Field(min_length=1)]


class LimitRule(Entry):
    """What is not done for a time after surgery, whatever weight the leg may bear.

    Attributes:
        surgery: The kinds it is about; without any, every kind.
        until_confirmed: It holds only until full load on one leg was confirmed.
        sets: These limits hold as if the surgeon had set them.
        no_effort: The doses of the plan are given without their effort.
    """

    name: Line
    surgery: tuple[Surgery, ...] = ()
    weeks_below: Annotated[int, Field(ge=1, le=520)]
    until_confirmed: bool = False
    loads: tuple[Load, ...] = ()
    tests: tuple[Id, ...] = ()
    sets: tuple[Precaution, ...] = ()
    exercises: tuple[Id, ...] = ()
    no_effort: bool = False
    reason: Line


class PrecautionRule(Entry):
    """What the plan must heed when any of its circumstances arises; no reason to refer first.

    Attributes:
        words: What to heed, without a full stop: what made it arise is added.
        for_patient: The same on the patient's sheet.
        in_testing: What it means for the tests, in one short line, where it matters to them.
        urgency: Where somebody else should see the person meanwhile: how soon.
        needs_helper: Exercises that are done only with somebody near, and not by somebody alone.
        no_effort: The doses of the plan are given without their effort.
    """

    words: Line
    for_patient: Line | None = None
    in_testing: Line | None = None
    urgency: Urgency | None = None
    any_of: Circumstances
    needs_helper: tuple[Id, ...] = ()
    leave_out: tuple[Id, ...] = ()
    no_effort: bool = False


class ContradictionRule(Entry):
    """Findings that contradict a no to a safety question, which is then asked again.

    Nothing is started until it was; ``ask`` is what to do, in a sentence.
    """

    caution: Id
    any_of: Circumstances
    ask: Line


class StopRule(Strict):
    """A reason to end a test at once."""

    text: Line
    source: Id


class CallRule(Strict):
    """A reason for the patient to call, at home, in plain words, and how soon."""

    text: Line
    urgency: Literal["emergency", "same-day", "clinic"]
    source: Id


class NotMeasured(Strict):
    """What is said where findings speak against a driver that was not measured itself.

    None of ``tests`` was done on the leg complained of; up to ``to_age`` they can be asked for.
    Up to ``half_to_age`` a task of both legs that went well says half as much against the driver:
    the other leg can do the work.
    """

    tests: Annotated[tuple[Id, ...], Field(min_length=1)]
    to_age: Age
    half_to_age: Age | None = None
    words: Line


class Driver(Entry):
    """A cause that may stand behind the complaint.

    ``sided`` drivers belong to one leg; the others to the person. ``retest`` says what to test
    again and when, once the plan has begun. ``unless`` is what would have to be measured.
    """

    name: Line
    meaning: Line
    sided: bool
    counts_against: Line
    retest: Line | None = None
    unless: NotMeasured | None = None


class Outside(Entry):
    """Something that is no driver of ours, and what to examine where findings look like it.

    Attributes:
        needs: How many of the findings and answers must be there.
        answers: By question of the history, the answers that speak for it.
        exercises: What goes with any plan where findings look like it.
    """

    name: Line
    examine: Line
    needs: Annotated[int, Field(ge=1, le=9)] = 1
    findings: tuple[InTest, ...] = ()
    answers: Mapping[Id, tuple[Id, ...]] = Field(default_factory=dict)
    exercises: tuple[Id, ...] = ()


class ForPatient(Strict):
    """An exercise in plain words, for somebody who reads as a 12-year-old does.

    Short sentences, no term of the trade, no diagnosis. ``how`` is one step a line; ``effort`` is
    how hard it should be.
    """

    name: Line
    position: Line
    how: Annotated[tuple[Line, ...], Field(min_length=1, max_length=6)]
    dose: Line
    effort: MaybeLine = ""
    feel: Line
    stop: Line

    @property
    def full_dose(self) -> str:
        return " ".join(part for part in (self.dose, self.effort) if part)


class Exercise(Entry):
    """Something to start, for one driver; without goals it is for every goal.

    Attributes:
        driver: What it is for; without one it is for everybody for whom no driver is named.
        effort: How hard it should be, behind the dose; left away where effort has to wait.
        tasks: What is done in it; a plan has one exercise of each, the first.
        tests: It is not chosen where one of these hurt too much, was not possible or not safe.
        starts_easier: It is chosen where they were not possible: it begins easier.
        after_retest: It is only for a retest: it goes on from the plan that is there.
        instead_of_standing: It is only done while standing work is not allowed.
        only_if: All of it was measured and holds, or the exercise is not chosen.
        not_if: None of it was measured and holds, or the exercise is not chosen by those who may
            stand; for others it may be all there is.
        progress_if: As much of ``progress_when`` as the tests can tell.
        for_patient: What is read on the patient's sheet; without it the fields above are.
        drawing: What is drawn beside it on the printed sheet; without it, nothing.
    """

    name: Line
    driver: Id | None = None
    after_retest: bool = False
    goals: tuple[Goal, ...] = ()
    tasks: tuple[Id, ...] = ()
    tests: tuple[Id, ...] = ()
    starts_easier: bool = False
    load: Load
    not_with: tuple[Precaution, ...] = ()
    instead_of_standing: bool = False
    order: Annotated[int, Field(ge=1, le=99)]
    position: Line
    dose: Line
    effort: MaybeLine = ""
    cue: Line
    feel: Line
    stop: Line
    progress_when: Line
    progress_to: Line
    only_if: tuple[Criterion, ...] = ()
    not_if: tuple[Criterion, ...] = ()
    progress_if: tuple[Criterion, ...] = ()
    for_patient: ForPatient | None = None
    drawing: Id | None = None

    @property
    def full_dose(self) -> str:
        """The dose with its effort, as one sentence."""
        if not self.effort:
            return self.dose
        return f"{self.dose.removesuffix('.')}; {self.effort[0].lower()}{self.effort[1:]}"


class LeaveOut(Entry):
    """Something not to start for now, and why.

    ``always`` applies when there is a plan at all; ``driver-spoken-against`` when the findings
    speak clearly against the named driver on every side, nothing speaks for it, and there was
    no surgery within the year; ``no-standing`` when no standing work is allowed, and
    ``no-one-leg`` when it is, but not on one leg; ``pain-over-5`` when the pain in a trial
    passed 5 of 10; ``limit`` when the surgeon or physician has set the named ``limit``.
    """

    name: Line
    when: Literal[
        "always", "driver-spoken-against", "no-standing", "no-one-leg", "pain-over-5", "limit"
    ]
    driver: Id | None = None
    limit: Precaution | None = None
    reason: Line

    @model_validator(mode="after")
    def _limit_is_named(self) -> LeaveOut:
        if (self.when == "limit") != (self.limit is not None):
            raise ValueError('limit = "..." and when = "limit" belong together')
        return self


class Companion(Entry):
    """An exercise of one driver that goes with the plan for another.

    Where ``beside`` is named, ``driver`` is not, and any circumstance arises, the furthest
    exercise of ``driver`` that is allowed is started as well.
    """

    beside: Id
    driver: Id
    any_of: Circumstances
    reason: Line


RULES_OUT = "none"
"""The id of the answer that rules out the others where several may be given."""

TAKEN = frozenset(
    {
        *("age", "complaints", "goals", "label", "note", "precautions", "ready", "sex", "side"),
        "surgery",
    }
)
"""What the other questions before testing are called; no question of the history may be."""

Key = Annotated[str, StringConstraints(pattern=r"^[a-gi-pr-z0-9]\Z")]
"""One key without Shift; ``q`` leaves the questions, and ``h`` hears more in practice."""


class HistoryAnswer(Strict):
    """One answer.

    Attributes:
        odds: By driver, how many times likelier it makes that driver; an absent one is 1.
        overlap: Of what is known of the person under this name only the strongest counts.
        outside: What it may point to that is none of the drivers, and what to examine.
    """

    id: Id
    label: ShortLabel
    key: Key
    odds: Mapping[Id, Annotated[float, Field(ge=0.1, le=10)]] = Field(default_factory=dict)
    overlap: Id | None = None
    outside: Line | None = None
    source: Id | None = None


class HistoryQuestion(Strict):
    """One question; ``several`` lets more than one answer hold.

    At a retest it is ``asked`` anew, or ``shown`` with the answer of last time where that may have
    changed; else the answer of last time holds.
    """

    id: Id
    label: ShortLabel
    several: bool = False
    at_retest: Literal["", "asked", "shown"] = ""
    answers: Annotated[tuple[HistoryAnswer, ...], Field(min_length=2, max_length=12)]

    def answer(self, answer_id: str) -> HistoryAnswer:
        """The answer of that id, or KeyError."""
        return {answer.id: answer for answer in self.answers}[answer_id]
