"""A list to choose one line from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Generic

from textual import events
from textual.screen import ScreenResultType

from screen_tui.tui.drawing.rows import LINE, Choice, Row, draw_lines
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head


class ListScreen(BaseScreen[ScreenResultType], Generic[ScreenResultType]):
    """Moves a mark over lines; subclasses say what choosing one does.

    Args:
        title: For the head of the screen.
        at: The place of the line that is marked first.
    """

    CHOOSE = "choose"
    """What Enter does, for the line of keys."""

    def __init__(self, title: str, at: int = 0) -> None:
        super().__init__()
        self.heading = title
        self.at = at

    def lines(self) -> Sequence[Choice]:
        """The lines there are."""
        raise NotImplementedError

    def choose(self) -> None:
        """Do what Enter does on the marked line."""
        raise NotImplementedError

    def head(self) -> tuple[Row, Row]:
        return screen_head(self.heading)

    def draw(self, width: int, height: int) -> Drawn:
        del height
        rows, focus = draw_lines(self.lines(), self.at, width)
        return Drawn(rows, focus)

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("Enter", self.CHOOSE, 0),
            KeyHint("↑↓", "move", 1),
            KeyHint("b", "back", 0),
        )

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(LINE):
            clicked = int(press.removeprefix(LINE))
            if clicked != self.at:
                self.at = clicked
                self.redraw()
                return
            press = "enter"
        super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        lines = self.lines()
        keys = [line.key for line in lines]
        if key in ("up", "shift+tab") and lines:
            self.at = (self.at - 1) % len(lines)
        elif key in ("down", "tab") and lines:
            self.at = (self.at + 1) % len(lines)
        elif key == "enter" and lines:
            self.choose()
        elif key == "b":
            self.dismiss(None)
        elif key and key in keys:
            self.at = keys.index(key)
            self.choose()
        else:
            return False
        return True
