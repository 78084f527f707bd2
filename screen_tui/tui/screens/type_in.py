"""One line typed in: words, or a number."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual import events

from screen_tui.tui.drawing.rows import BLANK, Row, Span, paragraph, row
from screen_tui.tui.keybar import KeyHint
from screen_tui.tui.keynames import typed_character
from screen_tui.tui.screens.page import Page, page_head
from screen_tui.tui.screens.paper import Drawn

Doubt = Callable[[str], str]
"""Why what was typed cannot be taken; "" when it can."""


class TypeInPage(Page[str | None]):
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
        self.most = most
        self.typed = ""
        self.refusal = ""

    @property
    def typing_now(self) -> bool:
        return True

    def head(self) -> tuple[Row, Row]:
        return page_head(self.heading)

    def draw(self, width: int, height: int) -> Drawn:
        del height
        rows = [*paragraph(self.lead, width), BLANK]
        line = paragraph(self.typed + "▏", width, "first", first=row(Span("> ", "first")))
        return Drawn([*rows, *line], focus=(len(rows), len(rows) + len(line) - 1))

    def notice(self) -> str:
        return self.refusal

    def hints(self) -> Sequence[KeyHint]:
        back = "delete" if self.typed else "back, nothing typed"
        return KeyHint("Enter", "take it", 0), KeyHint("Backspace", back, 0)

    def take_key(self, key: str, event: events.Key) -> bool:
        character = typed_character(event)
        if key == "enter":
            self._take()
        elif key == "backspace":
            self.refusal = ""
            if not self.typed:
                self.dismiss(None)
            self.typed = self.typed[:-1]
        elif character:
            self.refusal = ""
            self.typed = (self.typed + character)[: self.most]
        else:
            return False
        return True

    def _take(self) -> None:
        typed = self.typed.strip()
        if not typed:
            self.dismiss(None)
            return
        self.refusal = self.refuse(typed)
        if not self.refusal:
            self.dismiss(typed)
