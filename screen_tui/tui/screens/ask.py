"""One question with a few answers at digit keys and, where wanted, an answer in own words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual import events

from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    cursor_row,
    paragraph,
    pressing,
    row,
    typed_rows,
)
from screen_tui.tui.field import Field
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head

MOST_CHARACTERS = 120
MOST_OF_A_PATH = 1000


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked, and the answers offered.

    Attributes:
        title: For the head of the screen.
        lead: Paragraphs before the answers.
        answers: Up to eight, at the digits from 1.
        own_words: What stands at 0 to type an answer; empty when none may be typed.
        back: What going back without an answer does.
        most: Characters an answer in own words may have.
    """

    title: str
    lead: tuple[str, ...]
    answers: tuple[str, ...]
    own_words: str = ""
    back: str = "back"
    most: int = MOST_CHARACTERS


class AskDialog(BaseScreen[str | None]):
    """Asks, and is dismissed with the answer's text, or None when it was left with b.

    Args:
        question: What to ask.
    """

    def __init__(self, question: Question) -> None:
        super().__init__()
        self.question = question

    def head(self) -> tuple[Row, Row]:
        return screen_head(self.question.title)

    def draw(self, width: int, height: int) -> Drawn:
        del height
        rows: list[Row] = []
        for text in self.question.lead:
            rows += [*paragraph(text, width), BLANK]
        for digit, answer in enumerate(self.question.answers, start=1):
            lines = paragraph(answer, width, first=row(Span(f" {digit} ", "key"), " "))
            rows += pressing(lines, str(digit))
        if self.question.own_words:
            own = paragraph(self.question.own_words, width, first=row(Span(" 0 ", "key"), " "))
            rows += pressing(own, "0")
        if self.field is None:
            return Drawn(rows)
        line = typed_rows(self.field.value, self.field.cursor_position, width, "> ")
        at = len(rows) + 1 + cursor_row(line)
        return Drawn([*rows, BLANK, *line], focus=(at, at))

    def notice(self) -> str:
        return self.said_of_typing

    def hints(self) -> Sequence[KeyHint]:
        if self.field is not None:
            return (
                KeyHint("Enter", "take these words", 0),
                KeyHint("Backspace", "delete; on an empty line: back to the list", 1),
            )
        digits = f"1-{len(self.question.answers)}" if len(self.question.answers) > 1 else "1"
        own = (KeyHint("0", "type", 1),) if self.question.own_words else ()
        return (KeyHint(digits, "choose", 0), *own, KeyHint("b", self.question.back, 0))

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        if self.field is not None:
            return self._end_typing(key, self.field.value.strip())
        if key == "b":
            self.dismiss(None)
        elif key == "0" and self.question.own_words:
            self.field = Field(most=self.question.most)
        elif key.isdecimal() and 1 <= int(key) <= len(self.question.answers):
            self.dismiss(self.question.answers[int(key) - 1])
        else:
            return False
        return True

    def _end_typing(self, key: str, words: str) -> bool:
        if key == "backspace":
            self.field = None
        elif key != "enter":
            return False
        elif words:
            self.dismiss(words)
        return True
