"""Help: how a test is done, what keeps the person safe, when to stop, and where it comes from."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.tui.drawing.help import draw_help, draw_test_help
from screen_tui.tui.drawing.rows import Row
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head


class HelpScreen(BaseScreen[None]):
    """Shows help on one test, or on the program when no test is given."""

    def __init__(self, protocol: ScreenProtocol, test: TestSpec | None = None) -> None:
        super().__init__()
        self.protocol = protocol
        self.test = test

    def head(self) -> tuple[Row, Row]:
        return screen_head("Help", self.test.name if self.test else "")

    def draw(self, width: int, height: int) -> Drawn:
        del height
        if self.test is None:
            return Drawn(draw_help(self.protocol, width))
        return Drawn(draw_test_help(self.protocol, self.test, width))

    def hints(self) -> Sequence[KeyHint]:
        return (KeyHint("b", "back", 0),)

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        if key in ("b", "?", "enter", "backspace"):
            self.dismiss(None)
            return True
        return False
