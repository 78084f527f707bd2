"""Set-up: how the test at hand is set up, where that is another way than the usual one."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.trial.set_up import Said, SetUpForm, SetUpRow
from screen_tui.tui.drawing.rows import BLANK, Row, Span, TextRole, cells, paragraph, pressing, row
from screen_tui.tui.keys import KeyHint, digits
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head

ITEM = "item "
"""Before the place of an item, as what a click on it stands for."""

_LEAD = (
    "Note only what you have seen or measured. It is recorded with this trial and the later ones, "
    "in other tests too. What is not noted counts as usual."
)


_AS_LAST_TIME = (
    "As at the last visit. Enter takes all of it for the tests of today; change what is not so."
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
        del height
        lead = _AS_LAST_TIME if self.as_last_time else _LEAD
        rows = [*paragraph(lead, width, "quiet"), BLANK]
        first = last = 0
        items = self.form.rows()
        for place, item in enumerate(items):
            drawn = _item(item, max(cells(one.label) for one in items), width)
            if item.current:
                first, last = len(rows), len(rows) + len(drawn) - 1
            rows += pressing(drawn, f"{ITEM}{place}")
        return Drawn(rows, (first, last))

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
            KeyHint("b", "back to the test", 0),
        )

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(ITEM):
            self.form = self.form.go_to(int(press.removeprefix(ITEM)))
            self.redraw()
        else:
            super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        form = self.form.key("b" if self.as_last_time and key == "enter" else key)
        taken = form != self.form
        self.form = form
        if form.done:
            self.dismiss(form.changes)
        return taken


def _item(item: SetUpRow, label_cells: int, width: int) -> list[Row]:
    head = row(
        Span("> " if item.current else "  ", "first"),
        Span(f"{item.label:<{label_cells}}  ", "strong" if item.current else "plain"),
        Span(f"{item.value:<10}", "first" if item.current else "strong"),
    )
    rows = paragraph(item.state, width, "quiet" if "not" in item.state else "plain", first=head)
    if item.current and item.choices:
        rows += _choices(item, width)
    elif item.current:
        typed = Span(f"{item.typed}▏", "first")
        rows.append(row(f"    type {item.limits}: ", typed))
    return rows


def _choices(item: SetUpRow, width: int) -> list[Row]:
    """The choices, as many on a line as fit; the noted one is marked in words and by its box."""
    rows: list[list[Span]] = []
    used = width + 1
    for key, label, noted in item.choices:
        text = f" {'[x]' if noted else '[ ]'} {label}  "
        if used + 3 + cells(text) > width:
            rows.append([Span("    ")])
            used = 4
        ink: TextRole = "second" if noted else "plain"
        rows[-1] += [Span(f" {key} ", "key", key), Span(text, ink, key)]
        used += 3 + cells(text)
    return [tuple(line) for line in rows]
