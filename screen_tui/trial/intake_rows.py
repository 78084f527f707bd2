"""The questions of 'Before testing' as they are drawn."""

from __future__ import annotations

from dataclasses import dataclass

from screen_tui.trial.intake_questions import (
    CLEAR,
    CLEARED,
    TYPED,
    Answer,
    Question,
    number_words,
)


@dataclass(frozen=True, slots=True)
class OptionRow:
    """One option of a question: the key that chooses it, its label, and whether it is chosen."""

    key: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class QuestionRow:
    """A question as it is drawn.

    Attributes:
        id: Its id; safety questions have the id of their caution.
        kind: ``yes-no``, ``choice``, ``several``, ``number``, ``text`` or ``ready``.
        text: The question.
        short: Its short name.
        options: What may be chosen; empty for numbers and texts.
        typed: What was typed so far, for numbers and texts.
        unit: The unit of a number, or "".
        answer: The answer in words; "" while there is none.
        current: Whether the keys go to this question.
        optional: Whether it may be left open.
        error: Why the answer was refused, or "".
        details: Lines that explain the question.
        caution: Whether it is a safety question.
        raised: A safety question answered yes.
    """

    id: str
    kind: str
    text: str
    short: str
    options: tuple[OptionRow, ...]
    typed: str
    unit: str
    answer: str
    current: bool
    optional: bool
    error: str
    details: tuple[str, ...]
    caution: bool
    raised: bool


def question_row(
    question: Question, answer: Answer | None, *, current: bool, accepted: bool, error: str
) -> QuestionRow:
    """Give the row of a question with its answer so far."""
    options = _options(question, answer)
    typed = answer if question.kind in TYPED and isinstance(answer, str) else ""
    chosen = ", ".join(option.label for option in options if option.chosen)
    words = number_words(question, typed) if typed and question.kind == "number" else typed
    return QuestionRow(
        id=question.id,
        kind=question.kind,
        text=question.text,
        short=question.short,
        options=options,
        typed=typed,
        unit=question.unit,
        answer=words or chosen or (question.left_open if accepted else ""),
        current=current,
        optional=question.optional,
        error=error,
        details=question.details,
        caution=question.caution,
        raised=question.caution and answer is True,
    )


def _options(question: Question, answer: Answer | None) -> tuple[OptionRow, ...]:
    if question.doubt is not None:
        kept = OptionRow("y", "it is so", answer is True)
        return kept, OptionRow("n", "change an answer", chosen=False)
    if question.kind == "yes-no":
        yes, no = OptionRow("y", "yes", answer is True), OptionRow("n", "no", answer is False)
        if not question.caution or answer not in (True, CLEARED):
            return yes, no
        return yes, no, OptionRow(CLEAR, "known and cleared", answer == CLEARED)
    chosen = answer if isinstance(answer, tuple) else (answer,)
    return tuple(
        OptionRow(key, label, value in chosen)
        for key, (value, label) in zip(question.option_keys, question.options, strict=True)
    )
