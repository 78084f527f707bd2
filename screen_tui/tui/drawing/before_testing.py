"""The questions before testing, the one being answered opened, and the tests that follow."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from screen_tui.flow.battery import Item, Withheld
from screen_tui.flow.intake import QuestionRow
from screen_tui.protocol.whole import Protocol
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    ends,
    paragraph,
    row,
    row_cells,
    rule,
)
from screen_tui.tui.drawing.words import minutes, test_name

SIDE_PANEL_FROM = 76
_PANEL = 28


def draw_questions(
    questions: Sequence[QuestionRow], width: int
) -> tuple[list[Row], tuple[int, int]]:
    """Draw all questions.

    Returns:
        The rows, and the first and last row of the question being answered.
    """
    rows: list[Row] = []
    focus = (0, 0)
    for question in questions:
        begins = len(rows)
        if question.current:
            rows += _open_question(question, width)
            focus = (begins, len(rows) - 1)
        else:
            rows += _closed_question(question, width)
    return rows, focus


def _open_question(question: QuestionRow, width: int) -> list[Row]:
    rows = paragraph(question.text, width, "strong", first=row(Span("> ", "first")))
    for detail in question.details:
        rows += paragraph(detail, width, "quiet", first=row("  - "))
    if question.kind in ("number", "text"):
        unit = f" {question.unit}" if question.unit else ""
        typed = row("  ", Span(f" {question.typed}▏", "first"), unit)
        rows.append(typed)
    else:
        rows += _options(question, width)
    if question.error:
        rows += paragraph(question.error, width, "second", first=row("  "))
    elif question.optional:
        rows.append(row(Span("  may be left open", "quiet")))
    return rows


def _options(question: QuestionRow, width: int) -> list[Row]:
    rows: list[Row] = []
    line: list[Span] = [Span("  ")]
    for option in question.options:
        mark = "[x]" if option.chosen else "[ ]"
        item = row(
            Span(f" {option.key} ", "key"),
            Span(f" {mark} {option.label}  ", "second" if option.chosen else "plain"),
        )
        if row_cells(tuple(line)) + row_cells(item) > width and len(line) > 1:
            rows.append(tuple(line))
            line = [Span("  ")]
        line += item
    rows.append(tuple(line))
    return rows


def _closed_question(question: QuestionRow, width: int) -> list[Row]:
    answer = question.answer or ("optional" if question.optional else "--")
    if question.raised:
        answer = f"{answer.upper()} - REFER FIRST"
    tail = Span(f" {answer}", "second" if question.error or question.raised else "strong")
    rows = paragraph(question.text, width, first=row("  "))
    if row_cells(rows[-1]) + row_cells((tail,)) <= width:
        rows[-1] = (*rows[-1], tail)
    else:
        rows.append(row("  ", tail))
    return rows


def draw_battery(
    protocol: Protocol, items: Sequence[Item], held_back: Sequence[Withheld], width: int
) -> list[Row]:
    """Draw the tests that follow from the answers so far, with their minutes."""
    total = minutes(sum(item.minutes for item in items))
    rows = [rule(width, f"Tests, {total}")]
    per_test: dict[str, float] = {}
    for item in items:
        per_test[item.test] = per_test.get(item.test, 0.0) + item.minutes
    for test, takes in per_test.items():
        rows.append(ends(row(test_name(protocol, test, None)), row(minutes(takes)), width))
    by_reason: dict[str, list[str]] = {}
    for one in held_back:
        by_reason.setdefault(one.reason, []).append(test_name(protocol, one.test, None))
    for reason, names in by_reason.items():
        rows += paragraph(f"not {', '.join(names)}: {reason}", width, "quiet", indent=2)
    return rows


def beside(left: Sequence[Row], right: Sequence[Row], width: int) -> list[Row]:
    """Two columns; the left one is ``width`` wide."""
    return [
        (*one, Span(" " * max(width - row_cells(one), 0)), Span("  "), *other)
        for one, other in zip_longest(left, right, fillvalue=BLANK)
    ]


def question_width(width: int) -> int:
    """How wide the questions are when the tests stand beside them, or all of it."""
    return width - _PANEL if width >= SIDE_PANEL_FROM else width
