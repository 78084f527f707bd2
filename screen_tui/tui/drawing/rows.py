"""Rows: the paper all screens are drawn on, and how text and lists are fitted to its width."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from rich.cells import chop_cells

from screen_tui.report import document, layout
from screen_tui.report import text as text_writer

TextRole = document.Role
Span = layout.Span
Row = layout.Row
cells, wrapped = text_writer.cells, text_writer.wrapped

BLANK: Row = ()

CURSOR = "▏"
"""Stands where the next letter goes."""

_LEAST_BESIDE = 10
"""Columns a text must have beside what is before it."""
_BELOW = 2

_ASCII = str.maketrans("─█▏↑↓·…“”", '-#_^v-~""')


def ascii_rows(rows: Iterable[Row]) -> tuple[Row, ...]:
    """The rows with the program's own signs in ASCII, of the same width.

    What people typed keeps its characters.
    """
    return tuple(
        tuple(replace(span, text=span.text.translate(_ASCII)) for span in line) for line in rows
    )


def pressing(rows: Iterable[Row], press: str) -> list[Row]:
    """The rows with a click on any part of them standing for a key, where nothing else does."""
    return [tuple(replace(span, press=span.press or press) for span in line) for line in rows]


def press_at(line: Row, column: int) -> str:
    """The name of the key that a click on that column stands for; "" for none."""
    for span in line:
        column -= cells(span.text)
        if column < 0:
            return span.press
    return ""


def whole_sentences(text: str, width: int, most: int) -> str:
    """The text without the last of its sentences, as far as it must be for so many rows."""
    while len(wrapped(text, width)) > most and (shorter := re.match(r"(.+[.?!]) ", text)):
        text = shorter[1]
    return text


def row(*parts: Span | str) -> Row:
    """A row from spans and plain strings."""
    return tuple(part if isinstance(part, Span) else Span(part) for part in parts)


def row_cells(line: Row) -> int:
    """The columns a row takes."""
    return sum(cells(span.text) for span in line)


def plain(rows: Iterable[Row]) -> str:
    """The rows as text, without spaces at the ends of lines."""
    return "\n".join("".join(span.text for span in line).rstrip() for line in rows)


def paragraph(
    text: str,
    width: int,
    role: TextRole = "plain",
    *,
    first: Sequence[Span] = (),
    indent: int | None = None,
) -> list[Row]:
    """Set a text to a width, with a head such as a bullet or a label on the first line.

    The width includes the head. Before the later lines there are as many columns as it takes, or
    as the indent says.
    """
    head = tuple(first)
    head_cells = row_cells(head)
    hang = head_cells if indent is None else indent
    if width - max(head_cells, hang) < _LEAST_BESIDE <= width - _BELOW:
        # A head as wide as this is alone; beside it the text would be one letter a line.
        return [head, *paragraph(text, width, role, first=(Span(" " * _BELOW),))]
    lines = wrapped(text, max(width - max(head_cells, hang), 1))
    return [
        (*head, Span(line, role)) if at == 0 else (Span(" " * hang), Span(line, role))
        for at, line in enumerate(lines)
    ]


def typed_rows(text: str, cursor: int, width: int, head: str, behind: str = "") -> list[Row]:
    """Set what is typed, blanks and all, broken where the line ends, with the cursor in it.

    There is a head before the first line, below which the later ones are indented, and something
    behind the last.
    """
    shown = f"{text[:cursor]}{CURSOR}{text[cursor:]}"
    pieces = chop_cells(shown, max(width - cells(head) - cells(behind), 1))
    below = " " * cells(head)
    rows = [row(Span((below if at else head) + one, "first")) for at, one in enumerate(pieces)]
    rows[-1] = (*rows[-1], Span(behind))
    return rows


def cursor_row(rows: Sequence[Row]) -> int:
    """Which of the rows the cursor is in; the last where it is in none."""
    there = (at for at, line in enumerate(rows) if any(CURSOR in span.text for span in line))
    return next(there, len(rows) - 1)


def labelled(label: str, text: str, width: int, *, indent: int = 2) -> list[Row]:
    """Set ``label: text`` to a width, the label set off and the later lines a little further in."""
    head = f"{label}:"
    first, *rest = wrapped(f"{head} {text}", width - indent)
    if first.startswith(head):
        top: Row = (Span(head, "strong"), Span(first.removeprefix(head)))
    else:
        top = (Span(first, "strong"),)
    return [top, *((Span(" " * indent), Span(line)) for line in rest)]


def bulleted(texts: Iterable[str], width: int) -> list[Row]:
    """Set each text behind a dash."""
    return [line for text in texts for line in paragraph(text, width, first=row("- "))]


def flowed(items: Iterable[Row], width: int, gap: int = 0) -> list[Row]:
    """Items one after the other, as many on a row as fit."""
    rows: list[Row] = []
    for item in items:
        if rows and row_cells(rows[-1]) + gap + row_cells(item) <= width:
            rows[-1] = (*rows[-1], Span(" " * gap), *item) if gap else (*rows[-1], *item)
        else:
            rows.append(item)
    return rows


def section(label: str, rows: Sequence[Row], width: int) -> list[Row]:
    """Rows under a rule with a label; nothing where there are none."""
    return [rule(width, label), *rows] if rows else []


def stacked(parts: Iterable[Sequence[Row]]) -> list[Row]:
    """Parts one under the other, a blank row between; what is empty takes none."""
    return [line for part in parts if part for line in (*part, BLANK)][:-1]


def clipped(text: str, width: int) -> str:
    """The text itself, or its beginning and an ellipsis, which is all where one column is left."""
    if cells(text) <= width:
        return text
    return (chop_cells(text, width - 1)[0] if width > 1 else "") + "…"


def ends(left: Row, right: Row, width: int) -> Row:
    """A row with a part at each end; the right one is clipped only where it alone is too wide."""
    right = _fitted(right, width)
    fitted = _fitted(left, width - row_cells(right) - 1)
    gap = width - row_cells(fitted) - row_cells(right)
    return (*fitted, Span(" " * max(gap, 0)), *right)


def _fitted(line: Row, room: int) -> Row:
    fitted: list[Span] = []
    for span in line:
        if room <= 0:
            break
        text = clipped(span.text, room)
        fitted.append(replace(span, text=text))
        room -= cells(text)
    return tuple(fitted)


def rule(width: int, label: str = "") -> Row:
    """A line across, with an optional label near its beginning."""
    if not label:
        return (Span("─" * width, "quiet"),)
    shown = clipped(label, width - 4)
    rest = width - cells(shown) - 4
    return (Span("── ", "quiet"), Span(shown, "strong"), Span(" " + "─" * rest, "quiet"))


LINE = "line "
"""Before the number of a line of a list, as what a click on it stands for."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A line that can be chosen: under a heading or none, at once by a key or by no key."""

    section: str
    key: str
    text: str


def draw_lines(choices: Sequence[Choice], at: int, width: int) -> tuple[list[Row], tuple[int, int]]:
    """Draw a list with one line chosen; gives its first and last row, from the heading on."""
    rows: list[Row] = []
    focus = (0, 0)
    section = ""
    for index, choice in enumerate(choices):
        if choice.section != section:
            section = choice.section
            rows += [*([BLANK] if rows else []), rule(width, section)]
        begins = len(rows)
        chosen = index == at
        head = row(
            Span("> " if chosen else "  ", "first"),
            Span(f" {choice.key} " if choice.key else "   ", "key" if choice.key else "plain"),
            " ",
        )
        lines = paragraph(choice.text, width, "cursor" if chosen else "plain", first=head)
        rows += pressing(lines, f"{LINE}{index}")
        if chosen:
            focus = (max(begins - 2, 0), len(rows) - 1)
    return rows, focus
