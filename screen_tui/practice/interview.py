"""The questions before testing, put to a simulated patient, and the right ticks behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from screen_tui.practice.case import Case
from screen_tui.session.model import Intake

FROM_PATIENT = frozenset({"age", "sex", "height_cm", "mass_kg"})
"""Questions whose right answer stands under ``patient``."""

OWN_WORDS_OPTIONAL = FROM_PATIENT | {"label", "note", "pain_now", "pain_worst", "alone_at_home"}
"""Questions a case need not answer in the patient's words."""

NO_MORE = "That is all I can tell you about it."
NOT_SAID = "I don't know."
NOT_SAID_OF: Mapping[str, str] = {
    "pain_now": "I cannot put a number on it.",
    "pain_worst": "I cannot put a number on it.",
    "alone_at_home": "I would rather not say.",
}


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


def true_intake(case: Case) -> Intake:
    """What the form holds when every answer of the patient was taken as it is meant."""
    own = _of_intake()
    ticks: dict[str, Any] = {
        said.question: _whole(said.truth)
        for said in case.said
        if said.question in own and said.truth is not None
    }
    others = {said.question: said.truth for said in case.said if said.question not in own}
    raised = tuple(question for question, truth in others.items() if truth is True)
    history = {
        question: (truth,) if isinstance(truth, str) else truth
        for question, truth in others.items()
        if isinstance(truth, str | tuple) and question not in OWN_WORDS_OPTIONAL
    }
    return Intake(**ticks, cautions=raised, history=history)


def wrong_ticks(case: Case, intake: Intake) -> tuple[str, ...]:
    """Ids of the questions whose tick is not the right one, in the order of the case.

    What is typed freely (``note``) cannot be wrong.
    """
    right = true_intake(case)
    own = _of_intake() - {"note"}
    wrong = []
    for said in case.said:
        if said.question in own:
            same = _alike(getattr(right, said.question), getattr(intake, said.question))
        elif said.question in OWN_WORDS_OPTIONAL:
            continue
        elif said.question in right.history:
            same = _alike(right.history[said.question], intake.history.get(said.question, ()))
        else:
            same = (said.question in right.cautions) == (said.question in intake.cautions)
        if not same:
            wrong.append(said.question)
    return tuple(wrong)


def _of_intake() -> set[str]:
    """The questions that fill a field of their own."""
    return set(Intake.model_fields) - {"cautions", "cleared", "history"}


def _alike(right: object, ticked: object) -> bool:
    if isinstance(right, tuple) and isinstance(ticked, tuple):
        return set(right) == set(ticked)
    return right == ticked


def _whole(truth: object) -> object:
    return int(truth) if isinstance(truth, float) and truth.is_integer() else truth


def _of_patient(case: Case, question: str) -> str:
    person = case.patient
    match question:
        case "age":
            return f"I am {person.age}."
        case "sex" if person.sex != "unspecified":
            return f"{person.sex.capitalize()}."
        case "height_cm" if person.height_cm is not None:
            return f"{person.height_cm:g} centimetres, last time somebody measured."
        case "mass_kg" if person.mass_kg is not None:
            return f"{person.mass_kg:g} kilograms, about."
        case "label":
            return f"(The code of this invented person is {person.label}.)"
    return NOT_SAID_OF.get(question, NOT_SAID)
