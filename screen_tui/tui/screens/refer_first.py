"""Refer first: a safety question was answered yes."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.engine.safety import URGENCY
from screen_tui.protocol.knowledge import Caution
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.trial.intake_questions import CLEAR
from screen_tui.tui.drawing.rows import BLANK, Row, Span, paragraph, row, rule
from screen_tui.tui.drawing.words import short_source
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head


class ReferFirstScreen(BaseScreen[str]):
    """Says what the answer means and what comes next.

    It is dismissed with the key that the questions then take: ``backspace`` when the answer is
    taken back, ``c`` when it is known and cleared, ``enter`` when it stands.
    """

    GUIDE = "before-testing"

    def __init__(self, protocol: ScreenProtocol, caution: Caution) -> None:
        super().__init__()
        self.protocol = protocol
        self.caution = caution

    def head(self) -> tuple[Row, Row]:
        return screen_head("Safety", "no test is offered now")

    def draw(self, width: int, height: int) -> Drawn:
        del height
        caution = self.caution
        source = short_source(self.protocol, caution.source)
        how_soon = URGENCY[caution.urgency]
        return Drawn(
            [
                row(Span("REFER FIRST", "verdict")),
                *paragraph(caution.name, width, "first"),
                *paragraph(f"{how_soon[0].upper()}{how_soon[1:]}.", width, "strong"),
                BLANK,
                rule(width, "What it means"),
                *paragraph(f"{caution.means} ({source})", width),
                BLANK,
                rule(width, "Usual next step; local policy decides"),
                *paragraph(caution.next_step, width),
                BLANK,
                rule(width, "Now"),
                *paragraph(
                    "the answer was not meant: take it back and go on",
                    width,
                    first=row(Span(" b ", "key"), "     "),
                ),
                *paragraph(
                    "known and cleared: by whom and when is asked next",
                    width,
                    first=row(Span(f" {CLEAR} ", "key"), "     "),
                ),
                *paragraph(
                    "it stands: end the screen. What is still asked says who this is; then it is "
                    "saved, with a note that says refer first",
                    width,
                    first=row(Span(" Enter ", "key"), " "),
                ),
            ]
        )

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("b", "take the answer back", 0),
            KeyHint(CLEAR, "known and cleared", 0),
            KeyHint("Enter", "end the screen", 0),
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
