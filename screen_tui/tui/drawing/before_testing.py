"""The questions before testing: a line for each with its answer, and the one in hand in full."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import zip_longest

from screen_tui.engine.safety import URGENCY
from screen_tui.protocol.knowledge import Caution
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.words import short_on, short_source
from screen_tui.trial.battery import Item, Withheld
from screen_tui.trial.intake import QuestionRow
from screen_tui.trial.intake_questions import CLEARED, READY, TYPED
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    TextRole,
    bulleted,
    cells,
    clipped,
    cursor_row,
    ends,
    flowed,
    paragraph,
    pressing,
    row,
    row_cells,
    rule,
    section,
    stacked,
    typed_rows,
    wrapped,
)
from screen_tui.tui.drawing.words import minutes

QUESTION = "question "
"""Before the id of a question, as what a click on it stands for."""
BESIDE_FROM = 98
"""Columns of the body from which the question in hand is beside the lines."""
_LINE = 58
"""Columns of a line at most, so that the eye finds the way from a name to its answer."""
_GAP = 3
_BETWEEN = 2
_SHORT = 9
"""Rows of a body below which the question in hand is all that is shown."""
Draw = Callable[[int], Sequence[Row]]
"""Draws something to a width."""


def draw_questions(
    questions: Sequence[QuestionRow],
    width: int,
    height: int,
    cursor: int | None = None,
    tests: Draw = lambda _: (),
) -> list[Row]:
    """Draw a page of questions: its lines, and below or beside them the one in hand.

    The lines turn like pages, so that those which were not in sight come together.

    Args:
        cursor: Where in what is typed the cursor is; behind it when left out.
        tests: Draws, to a width, what is shown where the tests are begun.
    """
    if width >= BESIDE_FROM:
        lines = _lines(questions, _LINE, height)
        full = _in_hand(_current(questions), width - _LINE - _GAP, height, cursor, tests)
        return beside(lines, full, _LINE + _GAP)
    least = 1 + max(len(_needed(one, width, cursor)) for one in questions)
    if _current(questions).id == READY:
        least = max(least, min(1 + len(tests(width)), height - 2))
    count = 1 if height < _SHORT else max(min(len(questions), height - least), 1)
    lines = _lines(questions, min(width, _LINE), count)
    if height < _SHORT:
        return [*lines, *_in_hand(_current(questions), width, height - 1, cursor, tests)][:height]
    below = _in_hand(_current(questions), width, height - len(lines) - 1, cursor, tests)
    return [*lines, rule(width), *below]


def _current(questions: Sequence[QuestionRow]) -> QuestionRow:
    return next(one for one in questions if one.current)


# The lines.


def _lines(questions: Sequence[QuestionRow], width: int, height: int) -> list[Row]:
    at = next(place for place, one in enumerate(questions) if one.current)
    first = max(min(at // height * height, len(questions) - height), 0)
    return [
        line
        for one in questions[first : first + height]
        for line in pressing([_line(one, width)], f"{QUESTION}{one.id}")
    ]


def _line(shown: QuestionRow, width: int) -> Row:
    mark = Span("> " if shown.current else "  ", "first")
    if shown.id == READY:
        return (mark, Span(f" {shown.question.short} ", "key"))
    answer = _answer(shown)
    answer = clipped(answer, max(width - 6 - cells(shown.question.short), width // 2 - 2))
    short = clipped(shown.question.short, max(width - 5 - cells(answer), 1))
    dots = "·" * max(width - 4 - cells(short) - cells(answer), 0)
    name = Span(short, "cursor" if shown.current else "plain")
    role: TextRole = "strong" if shown.answer else "quiet"
    role = "second" if shown.raised or shown.error else role
    return (mark, name, Span(f" {dots} ", "quiet"), Span(answer, role))


def _answer(shown: QuestionRow) -> str:
    """The answer as its line has it; each state has a word of its own."""
    if shown.raised:
        return "YES, REFER"
    if shown.error:
        return f"{shown.answer}, refused" if shown.answer else "needed"
    if shown.question.caution and shown.answer and shown.answer != "no":
        return CLEARED
    return shown.answer or ("-" if shown.question.optional else "open")


# The one in hand.


def _in_hand(
    shown: QuestionRow, width: int, height: int, cursor: int | None, tests: Draw
) -> list[Row]:
    """The question in full, as far as there is room; its details give way first."""
    if shown.id == READY:
        return list(tests(width))[:height]
    rows = _needed(shown, width, cursor)
    if len(rows) > height:
        # Of more than there is room for, the cursor or the last row is what must be in sight.
        last = cursor_row(rows) + 1 if shown.question.kind in TYPED else len(rows)
        return rows[max(last - height, 0) :][:height]
    details = bulleted(shown.question.details, width)
    if len(rows) + len(details) > height:
        details = details[: max(height - len(rows) - 1, 0)]
        details += [row(Span("  ? shows all of it", "quiet"))] if len(rows) < height else []
    return [*rows, *details]


def _needed(shown: QuestionRow, width: int, cursor: int | None) -> list[Row]:
    """What must be seen to answer: the question, what may be chosen or is typed, a refusal."""
    rows = [row(Span(line, "strong")) for line in wrapped(shown.question.text, width)]
    if shown.question.kind in TYPED:
        at = len(shown.typed) if cursor is None else cursor
        rows += typed_rows(shown.typed, at, width, "  ", f" {shown.question.unit}".rstrip())
    elif shown.options and (not shown.question.caution or shown.raised):
        rows += _options(shown, width)
    if shown.error:
        rows += paragraph(shown.error, width, "second")
    return rows


def _options(shown: QuestionRow, width: int) -> list[Row]:
    options: list[Row] = []
    for option in shown.options:
        # Where a label is its own key, such as a score, it is said once.
        label = "" if option.label == option.key else f" {option.label}"
        if shown.question.kind == "several":
            label = f" [{'x' if option.chosen else ' '}]{label}"
        elif option.chosen:
            label += " [x]"
        key = f" {option.key} "
        role: TextRole = "second" if option.chosen else "plain"
        label = clipped(label, max(width - cells(key), 1))
        options.append((Span(key, "key", option.key), Span(label, role, option.key)))
    return flowed(options, width, _BETWEEN)


def draw_caution(
    protocol: ScreenProtocol, caution: Caution, width: int, *, raised: bool = False
) -> list[Row]:
    """All there is to a safety question; once it was answered yes, how soon and what is next."""
    source = short_source(protocol, caution.source)
    means = section("What it means", paragraph(f"{caution.means} ({source})", width), width)
    next_step = section("Usual next step", paragraph(caution.next_step, width), width)
    if raised:
        first = paragraph(f"REFER FIRST: {URGENCY[caution.urgency].upper()}", width, "cursor")
        return stacked([[*first, *paragraph(caution.name, width, "strong")], next_step, means])
    head = row(Span(clipped(caution.label or caution.name, width), "first"))
    asked = [head, *paragraph(caution.question, width, "strong")]
    yes = section("A yes", bulleted(caution.details, width), width)
    return stacked([asked, yes, means, next_step])


# The tests that follow.


def draw_battery(
    protocol: ScreenProtocol, items: Sequence[Item], held_back: Sequence[Withheld], width: int
) -> list[Row]:
    """Draw the tests that follow from the answers so far, with their minutes."""
    width = min(width, _LINE)
    rows = [row(Span(f"Tests, {minutes(sum(item.minutes for item in items))}", "strong"))]
    for test in dict.fromkeys(item.test for item in items):
        takes = minutes(sum(item.minutes for item in items if item.test == test))
        rows.append(ends(row("  ", short_on(protocol, test, None)), row(takes), width))
    by_reason: dict[str, list[str]] = {}
    for one in held_back:
        by_reason.setdefault(one.reason, []).append(short_on(protocol, one.test, None))
    for reason, names in by_reason.items():
        rows += paragraph(f"not {', '.join(names)}: {reason}", width, "quiet", indent=2)
    return rows


def beside(left: Sequence[Row], right: Sequence[Row], width: int) -> list[Row]:
    """Two columns; the left one is ``width`` wide."""
    return [
        (*one, Span(" " * max(width - row_cells(one), 0)), *other)
        for one, other in zip_longest(left, right, fillvalue=BLANK)
    ]
