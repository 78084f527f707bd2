"""The questions before testing: what was typed, and how much of it the screen has shown."""

from __future__ import annotations

from dataclasses import dataclass

from support.form_keys import pressed

from screen_tui.trial.intake import IntakeForm
from screen_tui.tui.drawing.before_testing import draw_questions
from screen_tui.tui.drawing.rows import Row

_KEYS = {"\r": ("enter", None), "\x7f": ("backspace", None)}
_LEAST_ROOM = 14


@dataclass
class FormOnScreen:
    """The form after each key, made by the same rules the program uses.

    Attributes:
        forms: After no key, after the first, and so on.
        shown: The last of them that was on the screen; -1 when none was yet.
    """

    forms: list[IntakeForm]
    size: tuple[int, int]
    shown: int = -1

    @property
    def last(self) -> IntakeForm:
        """After all keys that were sent."""
        return self.forms[-1]

    def press(self, character: str) -> None:
        """Note a key that is about to be sent."""
        key, typed = _KEYS.get(character, (character, character))
        self.forms.append(pressed(self.last, key, typed))

    def take(self, text: str) -> None:
        """Find out which of the forms is on the screen."""
        for at in range(len(self.forms) - 1, self.shown, -1):
            if self._stands(self.forms[at], text.split("\n")):
                self.shown = at
                return

    def _stands(self, form: IntakeForm, lines: list[str]) -> bool:
        columns, rows_there_are = self.size
        width = columns - 2
        for room in range(rows_there_are - 2, _LEAST_ROOM, -1):
            # Of the last line only the others are compared: the tests are drawn below it.
            wanted = [_text(row) for row in draw_questions(form.page(), width, room)]
            there = [line[1 : 1 + width].rstrip() for line in lines[1 : 1 + len(wanted)]]
            if wanted == there:
                return True
        return False


def _text(row: Row) -> str:
    return "".join(span.text for span in row).rstrip()
