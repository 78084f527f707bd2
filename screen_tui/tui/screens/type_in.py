"""One line typed in: words, or a number."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual import events

from screen_tui.tui.drawing.rows import BLANK, Row, cursor_row, paragraph, typed_rows
from screen_tui.tui.field import Field
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head

Doubt = Callable[[str], str]
"""Why what was typed cannot be taken; "" when it can."""


class TypeInDialog(BaseScreen[str | None]):
    """Asks for one line, and is dismissed with it, or with None when it was left empty.

    Args:
        title: For the head of the screen.
        lead: What to type and what it is for.
        refuse: Says why a line cannot be taken; such a line stays to be mended.
        most: Characters there may be.
    """

    def __init__(
        self,
        title: str,
        lead: str,
        refuse: Doubt = lambda _: "",
        most: int = 200,
    ) -> None:
        super().__init__()
        self.heading = title
        self.lead = lead
        self.refuse = refuse
        self.field: Field = Field(most=most)
        self.refusal = ""

    def head(self) -> tuple[Row, Row]:
        return screen_head(self.heading)

    def draw(self, width: int, height: int) -> Drawn:
        del height
        rows = [*paragraph(self.lead, width), BLANK]
        line = typed_rows(self.field.value, self.field.cursor_position, width, "> ")
        at = len(rows) + cursor_row(line)
        return Drawn([*rows, *line], focus=(at, at))

    def notice(self) -> str:
        return self.said_of_typing or self.refusal

    def hints(self) -> Sequence[KeyHint]:
        back = "delete" if self.field.value else "back, nothing typed"
        return KeyHint("Enter", "take it", 0), KeyHint("Backspace", back, 0)

    def typed(self) -> None:
        self.refusal = ""

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        if key == "enter":
            self._take()
        elif key == "backspace":
            self.dismiss(None)
        else:
            return False
        return True

    def _take(self) -> None:
        typed = self.field.value.strip()
        if not typed:
            self.dismiss(None)
            return
        self.refusal = self.refuse(typed)
        if not self.refusal:
            self.dismiss(typed)
