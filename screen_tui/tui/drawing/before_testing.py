"""The questions before testing, the one being answered in full, and the tests that follow."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from rich.cells import chop_cells

from screen_tui.protocol.model import Protocol
from screen_tui.trial.battery import Item, Withheld
from screen_tui.trial.intake_rows import QuestionRow
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    cells,
    clipped,
    ends,
    paragraph,
    pressing,
    row,
    row_cells,
    rule,
    wrapped,
)
from screen_tui.tui.drawing.words import minutes, test_name

QUESTION = "question "
"""Before the id of a question, as what a click on it stands for."""
SIDE_PANEL_FROM = 76
_PANEL = 28
_LINE = 58
"""Columns from a short name to its answer at most, so that the eye finds the way."""
_NEIGHBOURS = 2


def draw_questions(
    questions: Sequence[QuestionRow], width: int, height: int
) -> tuple[list[Row], tuple[int, int]]:
    """Draw all questions: the one being answered in full, each other as one line.

    Returns:
        The rows, and the first and last of those that must be in sight: the question being
        answered, with its neighbours where ``height`` has room for them.
    """
    rows: list[Row] = []
    first = last = 0
    for question in questions:
        if question.current:
            first = len(rows)
            opened = _open_question(question, width)
            if len(opened) > height:
                opened = _open_question(question, width, close=True)
            rows += opened
            last = len(rows) - 1
        else:
            rows += pressing([_closed_question(question, width)], f"{QUESTION}{question.id}")
    room = max(height - (last - first + 1), 0)
    before = min(_NEIGHBOURS, first, room)
    after = min(_NEIGHBOURS, len(rows) - 1 - last, room - before)
    return rows, (first - before, last + after)


def in_sight(rows: Sequence[Row], focus: tuple[int, int], height: int) -> Sequence[Row]:
    """As many rows as there is height for, the end of the focus among them."""
    first = max(min(focus[0], len(rows) - height), 0)
    first = max(first, focus[1] + 1 - height)
    return rows[first : first + height]


def _open_question(question: QuestionRow, width: int, *, close: bool = False) -> list[Row]:
    """The question in full; ``close`` sets its details in one paragraph, to save rows."""
    rows = paragraph(question.text, width, "strong", first=row(Span("> ", "first")))
    details = [" - ".join(question.details)] if close and question.details else question.details
    for detail in details:
        rows += paragraph(detail, width, "quiet", first=row("  - "))
    if question.kind in ("number", "text"):
        rows += _typing(question, width)
    else:
        rows += _options(question, width)
    if question.error:
        rows += paragraph(question.error, width, "second", first=row("  "))
    elif question.optional:
        rows.append(row(Span("  may be left open", "quiet")))
    return rows


def _typing(question: QuestionRow, width: int) -> list[Row]:
    """What is typed, blanks and all, broken where the line ends, with the cursor behind it."""
    unit = f" {question.unit}" if question.unit else ""
    pieces = chop_cells(f"{question.typed}▏", max(width - 3 - cells(unit), 1))
    rows = [row("   ", Span(piece, "first")) for piece in pieces]
    rows[-1] = (*rows[-1], Span(unit))
    return rows


def _options(question: QuestionRow, width: int) -> list[Row]:
    rows: list[Row] = []
    line: list[Span] = [Span("  ")]
    for option in question.options:
        mark = "[x]" if option.chosen else "[ ]"
        item = row(
            Span(f" {option.key} ", "key", option.key),
            Span(f" {mark} {option.label}  ", "second" if option.chosen else "plain", option.key),
        )
        if row_cells(tuple(line)) + row_cells(item) > width and len(line) > 1:
            rows.append(tuple(line))
            line = [Span("  ")]
        line += item
    rows.append(tuple(line))
    return rows


def _closed_question(question: QuestionRow, width: int) -> Row:
    answer = question.answer or ("-- may stay open" if question.optional else "--")
    if question.raised:
        answer = f"{answer.upper()} - REFER FIRST"
    elif question.error:
        answer = f"{answer}, refused" if question.answer else f"{answer} needed"
    told = question.error or question.raised
    line = min(width, _LINE)
    answer = clipped(answer, max(line - 5 - cells(question.short), line // 2))
    short = clipped(question.short, line - 5 - cells(answer))
    dots = "." * (line - 4 - cells(short) - cells(answer))
    return row(
        f"  {short} ",
        Span(dots, "quiet"),
        " ",
        Span(answer, "second" if told else "strong" if question.answer else "plain"),
    )


def draw_battery(
    protocol: Protocol, items: Sequence[Item], held_back: Sequence[Withheld], width: int
) -> list[Row]:
    """Draw the tests that follow from the answers so far, with their minutes."""
    rows = [_battery_rule(items, width)]
    for test, takes in _minutes_per_test(items).items():
        rows.append(ends(row(test_name(protocol, test, None)), row(minutes(takes)), width))
    by_reason: dict[str, list[str]] = {}
    for one in held_back:
        by_reason.setdefault(one.reason, []).append(test_name(protocol, one.test, None))
    for reason, names in by_reason.items():
        rows += paragraph(f"not {', '.join(names)}: {reason}", width, "quiet", indent=2)
    return rows


def draw_battery_in_short(
    protocol: Protocol, items: Sequence[Item], width: int, most: int
) -> list[Row]:
    """Draw the tests in a few lines, for where they cannot stand beside the questions.

    Args:
        protocol: Gives the names.
        items: The tests that follow from the answers so far.
        width: Columns there are.
        most: Rows there are, the heading among them.
    """
    named = [
        f"{test_name(protocol, test, None)} {round(takes, 1):g}"
        for test, takes in _minutes_per_test(items).items()
    ]
    lines = wrapped(" · ".join(named) if named else "none", width)
    if len(lines) > most - 1:
        lines = [*lines[: most - 2], clipped(f"{lines[most - 2]} …", width)]
    return [_battery_rule(items, width), *(row(Span(line, "quiet")) for line in lines)]


def _battery_rule(items: Sequence[Item], width: int) -> Row:
    return rule(width, f"Tests, {minutes(sum(item.minutes for item in items))}")


def _minutes_per_test(items: Sequence[Item]) -> dict[str, float]:
    per_test: dict[str, float] = {}
    for item in items:
        per_test[item.test] = per_test.get(item.test, 0.0) + item.minutes
    return per_test


def beside(left: Sequence[Row], right: Sequence[Row], width: int) -> list[Row]:
    """Two columns; the left one is ``width`` wide."""
    return [
        (*one, Span(" " * max(width - row_cells(one), 0)), Span("  "), *other)
        for one, other in zip_longest(left, right, fillvalue=BLANK)
    ]


def question_width(width: int) -> int:
    """How wide the questions are when the tests stand beside them, or all of it."""
    return width - _PANEL if width >= SIDE_PANEL_FROM else width
