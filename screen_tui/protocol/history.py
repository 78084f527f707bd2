"""The history: what is asked about the complaint before testing, one key an answer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from screen_tui.fields import Id, Line, ShortLabel, Strict
from screen_tui.files.reasons import FieldPath, shown

NONE = "none"
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
        key: The key that gives it.
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
        """The answer of that id.

        Raises:
            KeyError: The question has no such answer.
        """
        for answer in self.answers:
            if answer.id == answer_id:
                return answer
        raise KeyError(answer_id)


class HistoryFile(Strict):
    """The whole of ``history.toml``."""

    questions: tuple[HistoryQuestion, ...] = ()


def mismatches_in_question(question: HistoryQuestion) -> Iterator[tuple[FieldPath, str]]:
    """What in a question contradicts the rest of it, with its field."""
    if question.id in TAKEN:
        yield ("id",), f"{shown(question.id)} is what another question before testing is called"
    for field in ("id", "key"):
        first: dict[str, str] = {}
        for index, answer in enumerate(question.answers):
            value = getattr(answer, field)
            if value in first:
                reason = f"{shown(value)} is that of {shown(first[value])} already"
                yield ("answers", index, field), reason
            first.setdefault(value, answer.label)
