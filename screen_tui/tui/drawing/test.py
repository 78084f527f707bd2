"""A test while it is done: whose leg, the number, what was seen. The number has the most room."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from screen_tui.trial.view import ChoiceRow, FieldRow, SignRow, TrialView
from screen_tui.tui.bigdigits import big
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    TextRole,
    cells,
    clipped,
    paragraph,
    pressing,
    row,
    row_cells,
    wrapped,
)

_LEAST_BIG_ROWS = 5
_ROWS_AROUND_NUMBER = 6
_ROWS_FOR_BIG_SIDE = 27
_SPARE_WITH_A_BLANK = 2
_KEYPAD = 3
"""Columns of the digits of a keypad."""
_AROUND_LABEL = 4
"""The digit of a sign with its blanks, and the gap to the next column."""
_MARK_CELLS = 3
"""What stands behind a sign: how often it was seen."""
_CHOICE_CELLS = 9
_LEAST_CUT = 8


def draw_test(view: TrialView, width: int, height: int) -> list[Row]:
    """Draw a trial so that it fits exactly; what explains gives way to what measures.

    Args:
        view: The trial at this moment.
        width: Columns there are.
        height: Rows there are.
    """
    side = side_rows(view, width, tall=height >= _ROWS_FOR_BIG_SIDE)
    captions = caption_rows(view, width)
    marks = mark_rows(view, width)
    fields = field_rows(view.fields, width)
    room = height - len(side) - len(captions) - len(marks) - len(fields)
    if view.big and room < _LEAST_BIG_ROWS:
        # A long cue or question gives way to the number; the cue was chosen by who reads this.
        captions = [captions[0], captions[-1]]
        room = height - len(side) - len(captions) - len(marks) - len(fields)
    for_number = max(room - _ROWS_AROUND_NUMBER, _LEAST_BIG_ROWS)
    number = number_rows(view, width, for_number)
    spare = room - len(number)
    explained = explained_rows(view, width, spare - (spare > _SPARE_WITH_A_BLANK))
    blanks = iter([[BLANK]] * max(spare - len(explained), 0))
    top = [*side, *fields, *(next(blanks, []) if number else []), *number]
    before_explained = next(blanks, []) if explained else []
    before_captions = next(blanks, []) if number or fields else []
    rows = [*top, *before_captions, *captions, *marks, *before_explained, *explained]
    return rows[:height]


def side_rows(view: TrialView, width: int, *, tall: bool) -> list[Row]:
    """The leg as a bar that lies on the leg's own side, the state on the other."""
    word = view.whose.split()[0].upper()
    if tall:
        drawn = big(word, width // 2, _LEAST_BIG_ROWS)
        if len(drawn) > 1:
            return _big_side(word, drawn, view, width)
    spaced = " ".join(view.whose.upper().replace(" ", "  "))
    half = width // 2
    state = view.state
    if word == "LEFT":
        left = f"<< {spaced}".ljust(half)
        return [row(Span(left, "cursor"), f"{state:>{width - half}}")]
    if word == "RIGHT":
        right = f"{spaced} >>".rjust(half)
        return [row(f"{state:<{width - half}}", Span(right, "cursor"))]
    return [row(Span(spaced.ljust(width - len(state) - 1), "cursor"), f" {state}")]


def _big_side(word: str, drawn: Sequence[str], view: TrialView, width: int) -> list[Row]:
    right = word == "RIGHT"
    rows: list[Row] = []
    for at, line in enumerate(drawn):
        beside = view.state if at == 0 else ""
        gap = width - cells(line) - cells(beside)
        parts = (Span(line, "first"), Span(" " * gap), Span(beside, "strong"))
        rows.append(tuple(reversed(parts)) if right else parts)
    return rows


def number_rows(view: TrialView, width: int, rows: int) -> list[Row]:
    """The large number in the middle; a click on it presses Space."""
    if not view.big:
        return []
    unit = f" {view.unit}" if view.unit else ""
    drawn = big(view.big, width - cells(unit) - 4, rows)
    ink: TextRole = "cursor" if view.flash else "first"
    margin = max((width - cells(drawn[0]) - cells(unit)) // 2, 0)
    return [
        row(
            " " * margin,
            Span(line, ink, "space"),
            Span(unit if at == len(drawn) - 1 else "", "strong"),
        )
        for at, line in enumerate(drawn)
    ]


def caption_rows(view: TrialView, width: int) -> list[Row]:
    """What is below the number; the last row says how far the trial is."""
    lines = _joined([part for part in (view.target, *view.caption) if part], width)
    marks = (view.progress, view.ended, view.watched, view.pain)
    below = " · ".join(part for part in marks if part)
    # The set-up takes no row of its own, so that nothing moves or is cut off because of it.
    if lines and cells(lines[0]) + cells(view.set_up) + 3 <= width:
        lines[0] = _beside(lines[0], view.set_up, width)
    else:
        below = _beside(below, view.set_up, width)
    rows = [line for text in lines for line in paragraph(text, width)]
    # The row is there also while it is empty, so that nothing below moves when it is filled.
    return [*rows, *paragraph(below, width, "strong")]


def _beside(text: str, more: str, width: int) -> str:
    """A line with one part more, cut where the line ends."""
    room = width - cells(text) - 3 if text else width
    if not more or room < _LEAST_CUT:
        return text
    return " · ".join(part for part in (text, clipped(more, room)) if part)


def _joined(parts: Sequence[str], width: int) -> list[str]:
    """As many parts on a line as fit, with a mark between."""
    lines: list[str] = []
    for part in parts:
        if lines and cells(lines[-1]) + cells(part) + 3 <= width:
            lines[-1] += f" · {part}"
        else:
            lines.append(part)
    return lines


def mark_rows(view: TrialView, width: int) -> list[Row]:
    """The signs to watch for, or what one more key chooses now."""
    if view.choices:
        choices = [_choice(choice, width) for choice in view.choices]
        return _columns(choices, width, _CHOICE_CELLS)
    return _grid(view, width)


def _choice(choice: ChoiceRow, width: int) -> Row:
    label = clipped(choice.label, width - cells(choice.key) - 4)
    return row(Span(f" {choice.key} ", "key", choice.key), Span(f" {label}", press=choice.key))


_LEG = {"left": "<L", "right": "R>", "both": "<L R>"}
"""The leg a sign is of, at the side it is on."""


def _grid(view: TrialView, width: int) -> list[Row]:
    """The signs as the digits lie on a keypad, or one after the other where that is too wide.

    What is marked changes neither the columns nor the rows.
    """
    widths = _widths(view.signs, width)
    count = len(widths)
    lines: dict[int, dict[int, SignRow]] = {}
    for place, sign in zip(_places(view.signs, count), view.signs, strict=True):
        lines.setdefault(place // count, {})[place % count] = sign
    return [
        tuple(
            span
            for column, room in enumerate(widths)
            for span in _sign(line.get(column), room, active=view.signs_current)
        )
        for line in lines.values()
    ]


def _places(signs: Sequence[SignRow], columns: int) -> list[int]:
    """The cell of each sign in so many columns, counted row by row from 0."""
    return [sign.digit - 1 if columns == _KEYPAD else at for at, sign in enumerate(signs)]


def _widths(signs: Sequence[SignRow], width: int) -> list[int]:
    """How wide each column is: all alike, or as its own labels need, with room for marks or not."""
    for count in range(_KEYPAD, 1, -1):
        longest = [0] * count
        for place, sign in zip(_places(signs, count), signs, strict=True):
            column = place % count
            longest[column] = max(longest[column], cells(sign.label) + _AROUND_LABEL)
        if max(longest) + _MARK_CELLS <= width // count:
            return [width // count] * count
        for marks in (_MARK_CELLS, 0):
            spare = width - sum(longest) - count * marks
            if spare >= 0:
                return [one + marks + spare // count for one in longest]
    return [width]


def _sign(sign: SignRow | None, room: int, *, active: bool) -> Row:
    """One sign; one that was seen stands out as a block in capitals, to be seen at a glance."""
    if sign is None:
        return (Span(" " * room),)
    marked = f" x{sign.count}" if sign.count > 1 else ""
    marked += f" {_LEG[sign.leg]}" if sign.leg else ""
    label = sign.label.upper() if sign.on else sign.label
    text = clipped(label, room - _AROUND_LABEL - cells(marked))
    line = row(
        Span(f" {sign.key} ", "key" if active else "quiet"),
        Span(f"{text}{marked}", "cursor" if sign.on else "plain"),
    )
    filled = (*line, Span(" " * (room - row_cells(line))))
    return pressing([filled], sign.key)[0] if active else filled


def _columns(items: Sequence[Row], width: int, least: int) -> list[Row]:
    """Items in as many equal columns as fit, each at least so wide, filled downwards."""
    if not items:
        return []
    widest = max(row_cells(item) for item in items) + 1
    count = max(width // max(widest, least), 1)
    deep = -(-len(items) // count)
    share = width // count
    columns = [items[at : at + deep] for at in range(0, len(items), deep)]
    return [
        tuple(span for item in line for span in (*item, Span(" " * (share - row_cells(item)))))
        for line in zip_longest(*columns, fillvalue=())
    ]


def field_rows(fields: Sequence[FieldRow], width: int) -> list[Row]:
    """The numbers that are typed."""
    rows: list[Row] = []
    for field in fields:
        cursor = "▏" if field.current else ""
        head = row(
            Span("> " if field.current else "  ", "first"),
            Span(f"{field.label}: ", "strong" if field.current else "plain"),
        )
        rows += paragraph(f"{field.typed}{cursor}" or "-", width, "first", first=head)
        if field.error or field.current:
            ink: TextRole = "second" if field.error else "quiet"
            rows += paragraph(field.error or field.hint, width, ink, first=row("    "))
    return rows


def explained_rows(view: TrialView, width: int, room: int) -> list[Row]:
    """What to mind, when it ends, and what to say, as far as there is room.

    A long first text leaves a line for when the trial ends. It is the same before the start and
    while the clock runs, so that nothing moves.
    """
    ends = "; ".join(reason.rstrip(".") for reason in view.ends_when)
    texts = [
        f"{label}: {text}"
        for label, text in (("Safety", view.safety), ("Ends when", ends), ("Say", view.say))
        if text
    ]
    rows: list[Row] = []
    for at, text in enumerate(texts):
        lines = wrapped(text, width)
        left = room - len(rows)
        if at == 0 and len(texts) > 1 and left > 1:
            left -= 1
        if len(lines) > left:
            lines = [*lines[: left - 1], clipped(f"{lines[left - 1]} …", width)] if left > 0 else []
        rows += [row(Span(line, "quiet")) for line in lines]
    return rows
