"""The questions before testing, put to a simulated patient, and the right ticks behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from screen_tui.practice.case import Case
from screen_tui.session.model import Intake

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
    ticks: dict[str, Any] = {one: _whole(truths[one]) for one in truths if one in _OWN}
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

    asked = (said.question for said in case.said)
    return tuple(
        one
        for one in asked
        if (one in _OWN or one not in OWN_WORDS_OPTIONAL)
        and one != "note"
        and ticked(one, right) != ticked(one, intake)
    )


def _whole(truth: object) -> object:
    return int(truth) if isinstance(truth, float) and truth.is_integer() else truth


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
