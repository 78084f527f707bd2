"""A practice case as an instructor writes it, and the questions put to its patient.

Times are seconds since the start of the trial: of the movement itself, or of the word go.
Everything here is invented; a case never describes a real person.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Any, Literal

from pydantic import Field, StringConstraints, model_validator

from screen_tui.engine.results import Outcome
from screen_tui.fields import Id, Line, Look, Side, Strict, refuse_control_characters
from screen_tui.session.model import Client, Intake, Pain

CASE_FORMAT = 1

Seconds = Annotated[float, Field(ge=0, le=600)]
Degrees = Annotated[float, Field(ge=-30, le=120)]
QuestionId = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_-]{0,47}\Z")]
Story = Annotated[str, StringConstraints(min_length=1, max_length=1200), refuse_control_characters]
Direction = Literal["up", "down"]


class Said(Strict):
    """The answer to one question before testing.

    Attributes:
        only_when_asked: What comes out with each further question, in order.
        truth: The right tick: true or false, an option, several, or a number; left out where the
            right answer is none, and for what is under ``patient``.
    """

    question: QuestionId
    says: Line
    only_when_asked: Annotated[tuple[Line, ...], Field(max_length=5)] = ()
    truth: bool | str | int | float | tuple[str, ...] | None = None


class Sighting(Strict):
    """A sign, when it begins to show, and how it looks; "" where it cannot be seen from there."""

    sign: Id
    at_s: Annotated[tuple[Seconds, ...], Field(min_length=1, max_length=40)]
    lasts_s: Annotated[float, Field(ge=0.5, le=60)] = 3.0
    from_front: Look = ""
    from_side: Look = ""

    @model_validator(mode="after")
    def _can_be_seen(self) -> Sighting:
        if not self.from_front and not self.from_side:
            raise ValueError("cannot be seen; say how it looks in from_front, from_side or both")
        return self


class Told(Strict):
    """Words of the patient during the trial."""

    at_s: Seconds
    says: Line


class Pace(Strict):
    """Repetitions or steps whose time changes evenly from the first to the last."""

    count: Annotated[int, Field(ge=1, le=60)]
    first_s: Annotated[float, Field(gt=0, le=60)]
    last_s: Annotated[float, Field(gt=0, le=60)]

    @property
    def moments(self) -> tuple[float, ...]:
        """Seconds since the start at which each is complete, to a hundredth."""
        steps = max(self.count - 1, 1)
        moments, now = [], 0.0
        for number in range(self.count):
            now += self.first_s + (self.last_s - self.first_s) * number / steps
            moments.append(round(now, 2))
        return tuple(moments)


class Shown(Strict):
    """What one trial of one test shows. A second one of the same kind is the next trial.

    Attributes:
        steps: Steps of the flight, where they are not those of the protocol.
        vary_s: By how much, at most, each time may differ from run to run.
        ends_s: When a hold, a walk or a movement ends, or another trial is broken off.
        half_way_up: Of a count in a window: more than half-way up when the time ends.
    """

    test: Id
    side: Side | None = None
    cue: Literal[""] | Id = ""
    direction: Direction | None = None
    steps: Annotated[int, Field(ge=1, le=60)] | None = None
    vary_s: Annotated[float, Field(ge=0, le=5)] = 0.0
    ends_s: Seconds | None = None
    ended: Literal[""] | Id = ""
    repetitions_s: Annotated[tuple[Seconds, ...], Field(max_length=60)] = ()
    pace: Pace | None = None
    half_way_up: bool = False
    holds_s: Annotated[tuple[Seconds, ...], Field(max_length=20)] = ()
    rest_s: Annotated[float, Field(ge=1, le=20)] = 3.0
    passive_deg: Degrees | None = None
    active_deg: Degrees | None = None
    value: Annotated[float, Field(ge=-30, le=200)] | None = None
    pain: Pain | None = None
    signs: Annotated[tuple[Sighting, ...], Field(max_length=9)] = ()
    told: Annotated[tuple[Told, ...], Field(max_length=20)] = ()

    @property
    def repetitions(self) -> tuple[float, ...]:
        """When each repetition or step is complete, however the file gives it."""
        return self.pace.moments if self.pace is not None else self.repetitions_s

    @property
    def numbers(self) -> dict[str, float]:
        """The numbers that are read off, by the id of their field."""
        named = {"passive_deg": self.passive_deg, "active_deg": self.active_deg}
        given = {**named, "value": self.value}
        return {name: number for name, number in given.items() if number is not None}


Answer = Literal["driver", "nothing-found", "undetermined", "refer-first"]
"""What a student can answer: one driver or two that cannot be separated, or none."""


class TrueDriver(Strict):
    """A driver the author names, and its side: ``both`` where both legs have it."""

    driver: Id
    side: Side | Literal["both"] | None = None


class TrueTest(Strict):
    """A test, or the repeat of one with a cue, that tells more."""

    test: Id
    side: Side | None = None
    cue: Literal[""] | Id = ""


class Truth(Strict):
    """What the author of a case takes it to be, and why.

    Attributes:
        drivers: The driver, or the two that cannot be separated; none where none is answered.
        next_tests: What would tell more; any of them is a good answer, none asks for no more.
        engine_differs: Why the engine answers otherwise, where it does.
    """

    outcome: Outcome
    drivers: Annotated[tuple[TrueDriver, ...], Field(max_length=2)] = ()
    reasons: Annotated[tuple[Line, ...], Field(min_length=1, max_length=9)]
    next_tests: Annotated[tuple[TrueTest, ...], Field(max_length=6)] = ()
    start: Annotated[tuple[Id, ...], Field(max_length=6)] = ()
    leave_out: Annotated[tuple[Id, ...], Field(max_length=9)] = ()
    engine_differs: Literal[""] | Line = ""

    @property
    def answer(self) -> Answer:
        """The outcome as a student can give it."""
        match self.outcome:
            case "refer-first" | "nothing-found" | "undetermined":
                return self.outcome
        return "driver" if self.drivers else "undetermined"


class Case(Strict):
    """One simulated patient, complete."""

    practice_case: Literal[1]
    id: Id
    title: Annotated[str, StringConstraints(min_length=1, max_length=60), refuse_control_characters]
    story: Story
    patient: Client
    said: tuple[Said, ...]
    shown: tuple[Shown, ...] = ()
    truth: Truth


# The questions before testing, put to the patient, and the right ticks behind them.

FROM_PATIENT = frozenset({"age", "sex", "height_cm", "mass_kg"})
"""Questions whose right answer is under ``patient``."""

OWN_WORDS_OPTIONAL = FROM_PATIENT | {"label", "note", "pain_now", "pain_worst", "alone_at_home"}
"""Questions a case need not answer in the patient's words."""

NO_MORE = "That is all I can tell you about it."
NOT_SAID = "I don't know."
NO_NUMBER = "I cannot put a number on it."


@dataclass(frozen=True)
class Interview:
    """A patient who is being asked; what was heard so far."""

    case: Case
    asked: Mapping[str, int] = field(default_factory=dict)

    def ask(self, question: str) -> Interview:
        """Put a question, or ask further about the same thing.

        The first answer is what the patient says of their own accord; each further one brings
        out one detail that nobody hears who does not ask.
        """
        times = min(self.asked.get(question, 0) + 1, len(self._all(question)))
        return replace(self, asked={**self.asked, question: times})

    def heard(self, question: str) -> tuple[str, ...]:
        """Everything the patient said to a question so far, in order; empty before it is put."""
        times = self.asked.get(question, 0)
        return self._all(question)[:times]

    def may_know_more(self, question: str) -> bool:
        """Whether asking further brings anything: true until the patient says that is all."""
        return self.asked.get(question, 0) < len(self._all(question))

    @property
    def left_unasked(self) -> tuple[str, ...]:
        """Questions behind which a detail was left that only further asking brings out."""
        return tuple(
            said.question
            for said in self.case.said
            if self.asked.get(said.question, 0) < 1 + len(said.only_when_asked)
            and said.only_when_asked
        )

    def _all(self, question: str) -> tuple[str, ...]:
        said = next((one for one in self.case.said if one.question == question), None)
        if said is not None:
            return (said.says, *said.only_when_asked, NO_MORE)
        return (_of_patient(self.case, question), NO_MORE)


_OWN = frozenset(Intake.model_fields) - {"cautions", "cleared", "history"}
"""The questions that fill a field of their own."""


def true_intake(case: Case) -> Intake:
    """What the form holds when every answer of the patient was taken as it is meant."""
    truths = {said.question: said.truth for said in case.said if said.truth is not None}
    ticks: dict[str, Any] = {one: truths[one] for one in truths if one in _OWN}
    others = {one: truth for one, truth in truths.items() if one not in _OWN}
    history = {
        question: (truth,) if isinstance(truth, str) else truth
        for question, truth in others.items()
        if isinstance(truth, str | tuple) and question not in OWN_WORDS_OPTIONAL
    }
    raised = tuple(question for question, truth in others.items() if truth is True)
    return Intake(**ticks, cautions=raised, history=history)


def wrong_ticks(case: Case, intake: Intake) -> tuple[str, ...]:
    """Ids of the questions whose tick is not the right one, in the order of the case.

    What is typed freely (``note``) cannot be wrong.
    """
    right = true_intake(case)

    def ticked(question: str, form: Intake) -> object:
        if question in _OWN:
            answer = getattr(form, question)
        elif question in right.history:
            answer = form.history.get(question, ())
        else:
            answer = question in form.cautions
        return frozenset(answer) if isinstance(answer, tuple) else answer

    return tuple(
        one.question
        for one in case.said
        if one.question not in FROM_PATIENT | {"label", "note"}
        and ticked(one.question, right) != ticked(one.question, intake)
    )


def _of_patient(case: Case, question: str) -> str:
    person = case.patient
    said = {
        "age": f"I am {person.age}.",
        "sex": "" if person.sex == "unspecified" else f"{person.sex.capitalize()}.",
        "height_cm": f"{person.height_cm:g} centimetres, last time somebody measured."
        if person.height_cm is not None
        else "",
        "mass_kg": f"{person.mass_kg:g} kilograms, about." if person.mass_kg is not None else "",
        "label": f"(The code of this invented person is {person.label}.)",
        "pain_now": NO_NUMBER,
        "pain_worst": NO_NUMBER,
        "alone_at_home": "I would rather not say.",
    }
    return said.get(question) or NOT_SAID
