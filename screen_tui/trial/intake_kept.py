"""Whether answers that were kept still fit the questions."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.trial.intake_questions import (
    CLEARED,
    TYPED,
    Answer,
    Question,
    longest,
    questions_of,
)

_NO_QUESTION = "is not a question of this protocol"


def questions_digest(protocol: ScreenProtocol) -> str:
    """Give ``sha256:`` and the hash of all that is asked, word for word.

    An answer stands for what was asked: a no to other words is another answer.
    """
    asked = [
        [q.id, q.kind, q.text, q.short, q.options, q.optional, q.details, q.unit]
        for q in questions_of(protocol)
    ]
    return "sha256:" + hashlib.sha256(json.dumps(asked).encode()).hexdigest()


def mismatches(
    protocol: ScreenProtocol, answers: Mapping[str, Answer], accepted: Iterable[str], at: str
) -> tuple[tuple[tuple[str | int, ...], str], ...]:
    """Say what of a form that was kept does not fit the questions of a protocol.

    Returns:
        The place of each mismatch, such as ``("answers", "side")``, and a reason.
    """
    questions = {question.id: question for question in questions_of(protocol)}
    found: list[tuple[tuple[str | int, ...], str]] = []
    for name, answer in answers.items():
        if name not in questions:
            found.append((("answers", name), _NO_QUESTION))
        elif reason := _impossible(questions[name], answer):
            found.append((("answers", name), reason))
    found += [
        (("accepted", index), _NO_QUESTION)
        for index, name in enumerate(accepted)
        if name not in questions
    ]
    if at not in questions:
        found.append((("at",), _NO_QUESTION))
    return tuple(found)


def _impossible(question: Question, answer: Answer) -> str:
    """Say why something can never have been answered to a question; "" when it can.

    What was typed may still be refused by `typed_problem`: it need not be finished.
    """
    if question.kind in TYPED:
        if not isinstance(answer, str):
            return "must be text, as it was typed"
        return "" if len(answer) <= longest(question) else "is longer than may be typed"
    if question.kind == "yes-no":
        fits = isinstance(answer, bool) or (question.caution and answer == CLEARED)
        return "" if fits else "must be true or false"
    values = [value for value, _ in question.options]
    if question.kind == "choice":
        return "" if answer in values else f"must be one of {', '.join(values)}"
    fits = isinstance(answer, tuple) and set(answer) <= set(values)
    return "" if fits else f"must be an array of {', '.join(values)}"
