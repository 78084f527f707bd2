"""A test while it is done: whose leg, the number, what was seen. The number has the most room.

What is said and how it is set up is read before the start; while the clock runs there is no prose.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from screen_tui.trial.view import Before, ChoiceRow, FieldRow, SignRow, TrialView
from screen_tui.tui.bigdigits import big_beside
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    TextRole,
    bulleted,
    cells,
    clipped,
    ends,
    labelled,
    paragraph,
    pressing,
    row,
    row_cells,
    stacked,
    wrapped,
)

LEAST_COLUMNS, LEAST_ROWS = 28, 4
"""In a smaller body there is a plain clock and nothing else."""
_NUMBER, _LEAST_NUMBER = 7, 3
"""Rows of the number where there is room, and in the smallest windows."""
_ROOMY = 8
"""Rows from which on the target has one of its own before the start."""
_REST_ROWS = 5
_MOST_STATUS = 2
_AROUND_NUMBER = 2
"""Rows left empty around the number, where there are any."""
_BETWEEN_NUMBERS = 4
_KEYPAD = 3
"""Columns of the digits of a keypad."""
_AROUND_LABEL = 4
"""The digit of a sign with its blanks, and the gap to the next column."""
_MARK_CELLS = 3
"""What is behind a sign: how often it was seen."""
_CHOICE_CELLS = 9


def draw_test(view: TrialView, width: int, height: int, page: int = 0) -> list[Row]:
    """Draw a trial so that it fits.

    Of what is read before the start and does not fit, it is that page; after the last one comes
    the first again.
    """
    if width < LEAST_COLUMNS or height < LEAST_ROWS:
        return clock_rows(view, width)[:height]
    fields = field_rows(view.fields, width)
    if len(fields) > height - 1 - _LEAST_NUMBER:
        labels = [f"> {one.label}: {one.typed}" for one in view.fields if one.current]
        fields = [row(Span(clipped(label, width), "first")) for label in labels]
    top = [leg_row(view, width), *fields]
    room = height - len(top)
    if view.before is not None:
        return [*top, *_to_read(view, view.before, width, room, page)][:height]
    return [*top, *_at_work(view, width, room)][:height]


def _at_work(view: TrialView, width: int, room: int) -> list[Row]:
    """The number or a question, how it goes, and the signs; in few rows the number alone."""
    signs = sign_rows(view, width)
    spare = room - _LEAST_NUMBER
    status_room = min(_MOST_STATUS, max(spare - len(signs), 1), max(spare, 0))
    listed = len(signs) + status_room <= spare
    status = status_rows(view, width, status_room, name_signs=not listed)
    below = [*status, *(signs if listed else [])]
    room -= len(below)
    # Fourteen rows or seven, with some around them, or else all there are.
    apart = (rows for rows in (2 * _NUMBER, _NUMBER) if rows + _AROUND_NUMBER <= room)
    middle = question_rows(view, width, room) or number_rows(view, width, next(apart, room))
    blanks = [BLANK] * max(room - len(middle), 0)
    above = (len(blanks) + 1) // 2
    return [*blanks[above:], *middle, *blanks[:above], *below]


def _to_read(view: TrialView, before: Before, width: int, room: int, page: int) -> list[Row]:
    top: list[Row] = []
    if room >= _ROOMY and not _names_target(view, width):
        top += paragraph(view.target, width)
    if view.state == "REST":
        top += number_rows(view, width, _REST_ROWS)
    if view.set_up:
        top.append(row(Span(clipped(f"Noted: {view.set_up}", width), "strong")))
    room -= len(top)
    signs = sign_rows(view, width)
    signs = signs if len(signs) + _LEAST_NUMBER <= room else []
    room -= len(signs)
    return [*top, *_page(before_rows(before, width, room), room, page, view), *signs]


_READ_ON = {"space": "Space", "pagedown": "PgDn", "down": "↓"}


def _page(rows: Sequence[Row], room: int, page: int, view: TrialView) -> list[Row]:
    """Rows that fill the room: all, or one part of them with a line that says which."""
    if len(rows) <= room:
        return [*rows, *[BLANK] * (room - len(rows))]
    deep = max(room - 1, 1)
    count = -(-len(rows) // deep)
    at = page % count
    shown = [*rows[at * deep : (at + 1) * deep]]
    key, press = _READ_ON[view.read_on], view.read_on
    more = row(Span(f" {key} ", "key", press), Span(f" more, {at + 1} of {count}", "quiet", press))
    return [*shown, *[BLANK] * (deep - len(shown)), more][:room]


def clock_rows(view: TrialView, width: int) -> list[Row]:
    """All there is room for in a window of a few rows."""
    time, unit = view.beside
    parts = (view.question, f"{view.big} {view.unit}".strip(), f"{time} {unit}".strip())
    words = " ".join(part for part in (*parts, view.state, view.whose.lower()) if part)
    return paragraph(words, max(width, 1), "first")


_CHIP = {
    "RUNNING": " >> RUNNING << ",
    **{state: state for state in ("READY", "WATCH", "TYPE NUMBERS", "CHOOSE", "SIGNS")},
    "COUNT-IN": "- COUNT-IN -",
    "REST": "- REST -",
    "ASKING": "? ASKING ?",
}
"""How the state is drawn, so that it differs in form too; one that is not named is an end."""


def leg_row(view: TrialView, width: int) -> Row:
    """The leg as a block on the leg's own side, and beside it state, trial and target."""
    word = view.whose.split()[0]
    leg = {"LEFT": f" << {view.whose} ", "RIGHT": f" {view.whose} >> "}.get(word, f" {view.whose} ")
    running = view.state == "RUNNING"
    chip = _CHIP.get(view.state, f"[ {view.state} ]")
    if cells(leg) + cells(chip) + 2 > width:
        leg = leg.replace(" LEG", "")
    state = Span(chip, "cursor" if running else "strong", "space")
    parts = [Span(leg, "cursor"), state]
    for text in (view.trial, view.target):
        if text and sum(cells(one.text) + 2 for one in parts) + cells(text) <= width:
            parts.append(Span(text))
    in_order = parts if word != "RIGHT" else parts[::-1]
    spaced = tuple(span for part in in_order for span in (Span("  "), part))[1:]
    return spaced if word != "RIGHT" else ends((), spaced, width)


def _names_target(view: TrialView, width: int) -> bool:
    return view.target in "".join(span.text for span in leg_row(view, width))


def number_rows(view: TrialView, width: int, rows: int) -> list[Row]:
    """The large number in the middle, with the second one beside it; a click presses Space."""
    if not view.big:
        return []
    numbers = [one for one in ((view.big, view.unit), view.beside) if one[0]]
    units = [f" {unit}" if unit else "" for _, unit in numbers]
    around = sum(cells(unit) for unit in units) + _BETWEEN_NUMBERS * (len(numbers) - 1)
    drawn = big_beside([number for number, _ in numbers], width - around, rows)
    ink: TextRole = "cursor" if view.flash else "first"
    margin = max((width - around - sum(cells(one[0]) for one in drawn)) // 2, 0)
    lines = []
    for at in range(len(drawn[0])):
        last = at == len(drawn[0]) - 1
        line: list[Span | str] = [" " * margin]
        for one, unit in zip(drawn, units, strict=True):
            shown = unit if last else " " * cells(unit)
            gap = "" if one is drawn[-1] else " " * _BETWEEN_NUMBERS
            line += [Span(one[at], ink, "space"), Span(shown, "strong"), gap]
        lines.append(row(*line))
    return lines


def question_rows(view: TrialView, width: int, room: int) -> list[Row]:
    """What is asked, in the place of the number, which is drawn above as far as there is room."""
    if not view.question:
        return []
    bar = [row(Span(f" {one}".ljust(width), "cursor")) for one in wrapped(view.question, width - 2)]
    asked = [*bar, *_choices(view.choices, width, room - len(bar))]
    above = number_rows(view, width, room - len(asked) - 1)
    if len(asked) + len(above) < room and above:
        return [*above, BLANK, *asked]
    return asked[:room]


def status_rows(view: TrialView, width: int, rows: int, *, name_signs: bool = False) -> list[Row]:
    """How the trial goes; the rows are there while they are empty too, so that nothing moves.

    There are one or two. The signs that were seen are named where they are shown nowhere else.
    """
    seen = [sign.label for sign in view.signs if sign.on and name_signs]
    marks = [view.progress, view.ended, view.watched, view.pain, *seen]
    beside = [view.target, view.set_up, view.so_far, *view.remarks]
    if _names_target(view, width):
        beside = beside[1:]
    first = _joined(marks, width)
    if rows == 1:
        return [row(Span(first or _joined(beside, width), "strong"))]
    return [row(Span(first, "strong")), row(_joined(beside, width))][:rows]


def _joined(parts: Sequence[str], width: int) -> str:
    return clipped(" · ".join(part for part in parts if part), width)


def before_rows(before: Before, width: int, room: int) -> list[Row]:
    """What is read before the start, in full; its parts apart, where there is room for that."""
    cautions = [line for text in before.cautions for line in labelled("Caution", text, width)]
    texts = (
        ("Say", before.say),
        ("Cue", before.cue),
        ("Safety", before.safety),
        ("Ends when", "; ".join(reason.rstrip(".") for reason in before.ends_when)),
    )
    say, cue, safety, end = (labelled(label, text, width) if text else [] for label, text in texts)
    results = [line for text in before.results for line in paragraph(text, width, "first")]
    set_up = [row(Span("Set up:", "strong")), *bulleted(before.setup, width)]
    # What keeps a patient safe is on the first page; the set-up may go on behind it.
    parts = (results, say, cue, cautions, safety, end, set_up)
    apart = stacked(parts)
    return apart if len(apart) <= room else [line for part in parts for line in part]


def sign_rows(view: TrialView, width: int) -> list[Row]:
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
    """One sign; one that was seen is a block in capitals, to be seen at a glance."""
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


_LEG = {"left": "<L", "right": "R>", "both": "<L R>"}
"""The leg a sign is of, at the side it is on."""


def _choices(choices: Sequence[ChoiceRow], width: int, most: int) -> list[Row]:
    """The choices in as many equal columns as fit, filled downwards; in more where rows are few."""
    if not choices:
        return []
    widest = max(cells(f" {one.key}  {one.label} ") for one in choices)
    count = max(width // max(widest, _CHOICE_CELLS), -(-len(choices) // max(most, 1)), 1)
    deep, share = -(-len(choices) // count), width // count
    columns = [choices[at : at + deep] for at in range(0, len(choices), deep)]
    return [
        tuple(span for one in line if one is not None for span in _choice(one, share))
        for line in zip_longest(*columns)
    ]


def _choice(choice: ChoiceRow, room: int) -> Row:
    label = clipped(choice.label, max(room - cells(choice.key) - 4, 1))
    key = Span(f" {choice.key} ", "key", choice.key)
    return (key, Span(f" {label}".ljust(room - cells(key.text)), press=choice.key))


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
