"""Refer first: a safety question was answered yes."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.engine.safety import URGENCY
from screen_tui.protocol.knowledge import Caution
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.words import short_source
from screen_tui.trial.intake_questions import CLEAR
from screen_tui.tui.drawing.rows import BLANK, Row, paragraph, rule
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head


class ReferFirstScreen(BaseScreen[str]):
    """Says what the answer means and what comes next.

    It is dismissed with the key that the questions then take: ``backspace`` when the answer is
    taken back, ``c`` when it is known and cleared, ``enter`` when it holds.
    """

    GUIDE = "before-testing"
    ANY_SIZE = True

    def __init__(self, protocol: ScreenProtocol, caution: Caution) -> None:
        super().__init__()
        self.protocol = protocol
        self.caution = caution

    def head(self) -> tuple[Row, Row]:
        return screen_head("Safety", "no test now")

    def draw(self, width: int, height: int) -> Drawn:
        del height
        caution = self.caution
        source = short_source(self.protocol, caution.source)
        how_soon = URGENCY[caution.urgency]
        return Drawn(
            [
                *paragraph(f"REFER FIRST: {how_soon.upper()}", width, "cursor"),
                *paragraph(caution.name, width, "strong"),
                BLANK,
                rule(width, "Usual next step"),
                *paragraph(caution.next_step, width),
                BLANK,
                rule(width, "What it means"),
                *paragraph(f"{caution.means} ({source})", width),
            ]
        )

    def notice(self) -> str:
        return "Enter continues without tests, to a note that says refer first."

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("Enter", "refer first", 0),
            KeyHint(CLEAR, "known and cleared", 0),
            KeyHint("b", "not meant", 0),
        )

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        if key in ("b", "backspace"):
            self.dismiss("backspace")
        elif key in (CLEAR, "enter"):
            self.dismiss(key)
        else:
            return False
        return True
