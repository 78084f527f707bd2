"""What the simulated patient says, below the question that is open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from screen_tui.trial.intake_rows import QuestionRow
from screen_tui.tui.drawing.before_testing import draw_questions, in_sight
from screen_tui.tui.drawing.rows import Row, Span, paragraph, row, rule

PATIENT_SAYS = "The patient says"


def draw_heard(heard: Sequence[str], width: int, *, close: bool = False) -> list[Row]:
    """Everything heard to a question so far; ``close`` sets it in one paragraph, to save rows."""
    if not heard:
        return []
    told = [" - ".join(heard)] if close else heard
    lines = [line for words in told for line in paragraph(words, width, first=row(Span("- ")))]
    return [rule(width, PATIENT_SAYS), *lines]


def draw_interview(
    questions: Sequence[QuestionRow], heard: Sequence[str], width: int, left: int, height: int
) -> tuple[list[Row], list[Row]]:
    """The questions and, for below them, what was heard to the one that is open.

    Where both have no room, the details of the question give way to what was heard to it: they
    were read before it was asked further.

    Args:
        questions: All questions.
        heard: What was heard to the open one.
        width: Columns of what was heard.
        left: Columns of the questions.
        height: Rows there are for both.
    """
    bare = [replace(one, details=()) for one in questions]
    for asked, close in ((questions, False), (questions, True), (bare, True)):
        words = draw_heard(heard, width, close=close)
        room = height - len(words)
        rows, focus = draw_questions(asked, left, room)
        if focus[1] - focus[0] < room:
            break
    return list(in_sight(rows, focus, room)), words
