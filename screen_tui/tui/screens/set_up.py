"""The set-up of a test, noted item by item."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.protocol.tests import SetUp
from screen_tui.trial.set_up import Said, SetUpForm, limits, value_words
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    TextRole,
    cells,
    flowed,
    paragraph,
    pressing,
    row,
)
from screen_tui.tui.keys import KeyHint, digits
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head

ITEM = "item "
"""Before the place of an item, as what a click on it stands for."""

_LEAD = (
    "Note only what you have seen or measured. It is recorded with this trial and the later ones, "
    "in other tests too. What is not noted counts as usual."
)
_AS_LAST_TIME = (
    "As at the last visit. Enter takes all of it for the tests of today; change what is not so. "
    "b takes none of it."
)


class SetUpScreen(BaseScreen[Said | None]):
    """Shows the form and hands it the keys; it is dismissed with what was changed.

    Args:
        form: What is asked for, at least one thing, and what is noted of it.
        about: For the head of the page, such as the name of the test.
        as_last_time: It is what the last visit noted, and Enter takes all of it.
    """

    GUIDE = "tests"
    STEADY_NOTICE = 1
    STEADY_KEYS = 2

    def __init__(self, form: SetUpForm, about: str, *, as_last_time: bool = False) -> None:
        super().__init__()
        self.form = form
        self.about = about
        self.as_last_time = as_last_time

    def head(self) -> tuple[Row, Row]:
        return screen_head("Set-up", self.about)

    def draw(self, width: int, height: int) -> Drawn:
        lead = _AS_LAST_TIME if self.as_last_time else _LEAD
        above = [*paragraph(lead, width, "quiet"), BLANK]
        rows, (first, last) = draw_set_up(self.form, width)
        return Drawn([*above, *rows], (len(above) + first, len(above) + last))

    def notice(self) -> str:
        return self.form.problem

    def hints(self) -> Sequence[KeyHint]:
        form = self.form
        several = len(form.items) > 1
        own = (
            (KeyHint(digits(len(form.current.choices)), "choose", 0), KeyHint("Space", "other", 2))
            if form.current.choices
            else (KeyHint("0-9 .", "type", 0),)
        )
        enter = (KeyHint("Enter", "next", 1),) if several else ()
        if self.as_last_time:
            enter = (KeyHint("Enter", "take all", 0),)
        taking_back = form.current.id in form.noted or form.typed
        return (
            *own,
            *((KeyHint("x", "as usual, not noted", 2),) if taking_back else ()),
            *enter,
            *((KeyHint("↑↓", "move", 3),) if several else ()),
            *((KeyHint("Backspace", "delete", 1),) if form.typed else ()),
            KeyHint("b", "not as last time" if self.as_last_time else "back to the test", 0),
        )

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(ITEM):
            self.form = self.form.go_to(int(press.removeprefix(ITEM)))
            self.redraw()
        else:
            super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        if self.as_last_time and key in ("b", "backspace") and not self.form.typed:
            self.go_back()  # nothing of it was looked at, so nothing of it holds today
            return True
        form = self.form.key("b" if self.as_last_time and key == "enter" else key)
        taken = form != self.form
        self.form = form
        if form.done:
            self.dismiss(form.changes)
        return taken


def draw_set_up(form: SetUpForm, width: int) -> tuple[list[Row], tuple[int, int]]:
    """Draw the form; gives the first and last row of the item the keys go to, too."""
    rows: list[Row] = []
    focus = (0, 0)
    label_cells = max(cells(item.label) for item in form.items)
    for place, item in enumerate(form.items):
        noted, current = form.noted.get(item.id), place == form.at
        value = value_words(item, item.usual if noted is None else noted)
        head = row(
            Span("> " if current else "  ", "first"),
            Span(f"{item.label:<{label_cells}}  ", "strong" if current else "plain"),
            Span(f"{value:<10}", "first" if current else "strong"),
        )
        if noted is None:
            drawn = paragraph("usual, not noted", width, "quiet", first=head)
        else:
            drawn = paragraph("noted", width, first=head)
        if current and item.choices:
            drawn += _choices(item, noted, width)
        elif current:
            drawn.append(row(f"    type {limits(item)}: ", Span(f"{form.typed}▏", "first")))
        if current:
            focus = (len(rows), len(rows) + len(drawn) - 1)
        rows += pressing(drawn, f"{ITEM}{place}")
    return rows, focus


def _choices(item: SetUp, noted: float | str | None, width: int) -> list[Row]:
    """The choices, as many on a line as fit; the noted one is marked in words and by its box."""
    choices: list[Row] = []
    for digit, choice in enumerate(item.choices, start=1):
        ink: TextRole = "second" if choice == noted else "plain"
        box = "[x]" if choice == noted else "[ ]"
        key, text = str(digit), f" {box} {choice.replace('-', ' ')}  "
        choices.append((Span(f" {key} ", "key", key), Span(text, ink, key)))
    return [row("    ", *line) for line in flowed(choices, width - 4)]
