"""One question with a few answers at digit keys and, where wanted, an answer in own words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual import events

from screen_tui.tui.drawing.rows import BLANK, Row, Span, paragraph, pressing, row
from screen_tui.tui.keybar import KeyHint
from screen_tui.tui.keynames import typed_character
from screen_tui.tui.screens.page import Page, page_head
from screen_tui.tui.screens.paper import Drawn

MOST_CHARACTERS = 120


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked, and the answers offered.

    Attributes:
        title: For the head of the screen.
        lead: Paragraphs before the answers.
        answers: Up to eight, at the digits from 1.
        own_words: What stands at 0 to type an answer; empty when none may be typed.
        back: What going back without an answer does.
    """

    title: str
    lead: tuple[str, ...]
    answers: tuple[str, ...]
    own_words: str = ""
    back: str = "back"


class AskPage(Page[str | None]):
    """Asks, and is dismissed with the answer's text, or None when it was left with b.

    Args:
        question: What to ask.
        typed: Words to begin with.
    """

    def __init__(self, question: Question, typed: str = "") -> None:
        super().__init__()
        self.question = question
        self.typing = bool(typed)
        self.typed = typed

    def head(self) -> tuple[Row, Row]:
        return page_head(self.question.title)

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
        if not self.typing:
            return Drawn(rows)
        line = [BLANK, *paragraph(self.typed + "▏", width, "strong", first=row(Span("> ")))]
        rows += line
        return Drawn(rows, focus=(len(rows) - len(line), len(rows) - 1))

    @property
    def typing_now(self) -> bool:
        return self.typing

    def hints(self) -> Sequence[KeyHint]:
        if self.typing:
            return (
                KeyHint("Enter", "take these words", 0),
                KeyHint("Backspace", "delete; on an empty line: back to the list", 1),
            )
        digits = f"1-{len(self.question.answers)}" if len(self.question.answers) > 1 else "1"
        own = (KeyHint("0", "type", 1),) if self.question.own_words else ()
        return (KeyHint(digits, "choose", 0), *own, KeyHint("b", self.question.back, 0))

    def take_key(self, key: str, event: events.Key) -> bool:
        if self.typing:
            return self._type(key, event)
        if key == "b":
            self.dismiss(None)
        elif key == "0" and self.question.own_words:
            self.typing = True
        elif key.isdecimal() and 1 <= int(key) <= len(self.question.answers):
            self.dismiss(self.question.answers[int(key) - 1])
        else:
            return False
        return True

    def _type(self, key: str, event: events.Key) -> bool:
        character = typed_character(event)
        if key == "enter":
            if self.typed.strip():
                self.dismiss(self.typed.strip())
        elif key == "backspace":
            self.typing = bool(self.typed)
            self.typed = self.typed[:-1]
        elif character:
            self.typed = (self.typed + character)[:MOST_CHARACTERS]
        else:
            return False
        return True
