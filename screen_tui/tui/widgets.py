"""What shows rows, the one place where text becomes screen content, and what takes typed text.

Text typed by people, read from files or given by the operating system never passes through markup:
a bracket is a bracket, and what could steer the terminal is shown as a replacement character.

The framework's own text widget paints all of itself anew whatever changed, ten times a second while
a clock runs; of a trial's screen little but the number changes from one tick to the next.
"""

from __future__ import annotations

import unicodedata
from collections import deque
from itertools import zip_longest
from typing import Final

from rich.segment import Segment
from textual.actions import parse
from textual.binding import Binding
from textual.events import Key
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.style import Style
from textual.widget import Widget
from textual.widgets import Input

from screen_tui.files.text import first_control_character, with_control_characters_as
from screen_tui.trial.keymap import typed_character
from screen_tui.tui.drawing.rows import BLANK, Row, TextRole
from screen_tui.tui.keys import key_name

STYLES: dict[TextRole, str] = {
    "plain": "",
    "strong": "bold",
    "quiet": "$quiet",
    "first": "bold $first-accent",
    "second": "bold $second-accent",
    "key": "bold reverse",
    "cursor": "bold reverse $first-accent",
    "verdict": "bold underline",
}

REPLACEMENT = "\N{REPLACEMENT CHARACTER}"


def inert(text: str) -> str:
    """The text with every control character replaced by a visible mark."""
    return with_control_characters_as(lambda _: REPLACEMENT, text)


def segments(line: Row, style: Style) -> list[Segment]:
    """Build what a widget in that style shows from a row.

    Pieces in one role share one style, which the framework's own text would not: it marks each with
    its place on the screen, for selecting with the mouse.
    """
    return [
        Segment(inert(span.text), (style + Style.parse(STYLES[span.role])).rich_style)
        for span in line
        if span.text
    ]


class RowsWidget(Widget):
    """Shows rows, one to a line, and repaints only those that change; wider ones are cut off."""

    def __init__(self, id: str) -> None:
        super().__init__(id=id)
        self.rows: tuple[Row, ...] = ()

    def show(self, rows: tuple[Row, ...]) -> None:
        """Show these rows in place of those before; their number is its height where it may be."""
        before, self.rows = self.rows, rows
        changed = [
            Region(0, line, self.size.width, 1)
            for line, (old, new) in enumerate(zip_longest(before, rows))
            if old != new
        ]
        if changed:
            taller = len(before) != len(rows) and self.styles.is_auto_height
            self.refresh(*changed, layout=taller)

    def get_content_width(self, container: Size, viewport: Size) -> int:
        return container.width

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self.rows)

    def render_line(self, y: int) -> Strip:
        line = self.rows[y] if y < len(self.rows) else BLANK
        width, style = self.size.width, self.visual_style
        return Strip(segments(line, style)).adjust_cell_length(width, style.rich_style)


_EDITS: Final = ("cursor", "home", "end", "delete")
"""How the actions begin that move in a text or change it; marking, cutting and sending are none."""

UNDO: Final = "ctrl+z"
MOST_UNDONE: Final = 200
"""Changes that can be undone, the last first."""

_ACTIONS: Final = {
    binding.key: f"action_{name}"
    for binding in Binding.make_bindings(Input.BINDINGS)
    for _, name, parameters in (parse(binding.action),)
    if name.startswith(_EDITS) and not parameters
}


class Field(Input):
    """What is typed, and the cursor in it.

    The page draws it among its rows, so that a long text is seen whole, and gives it each key and
    each paste in its turn, so that what was typed ahead acts in its order. It is on no screen.

    Args:
        text: What is there to begin with; the cursor is behind it.
        most: Characters there may be.
        allowed: The only characters it takes; empty for all that a text may hold.

    Attributes:
        said: What became of the last key or paste, where that was not what one expects.
    """

    def __init__(self, text: str = "", most: int = 200, allowed: str = "") -> None:
        super().__init__(text or None)
        self.disable_messages(Input.Changed)
        self.most = most
        self.allowed = allowed
        self.said = ""
        self._before: deque[tuple[str, int]] = deque(maxlen=MOST_UNDONE)

    def take(self, event: Key) -> bool:
        """Do what a key means in a text; False when it means nothing here."""
        self.said = ""
        key = key_name(event)
        if key == UNDO:
            if self._before:
                self.value, self.cursor_position = self._before.pop()
            return True
        was = self.value, self.cursor_position
        taken = self._take(key, event)
        self._note(was)
        return taken

    def _note(self, was: tuple[str, int]) -> None:
        if self.value != was[0]:
            self._before.append(was)

    def _take(self, key: str, event: Key) -> bool:
        character = typed_character(event.key, event.character) or _unseen(event.character)
        if key in _ACTIONS and (self.value or key != "backspace"):
            getattr(self, _ACTIONS[key])()
        elif character and (not self.allowed or character in self.allowed):
            self.said = self._why_not(character)
            if not self.said:
                self.insert_text_at_cursor(character)
        else:
            return False
        return True

    def paste(self, text: str) -> None:
        """Take a text at the cursor, whole or not at all; line breaks and tabs become blanks."""
        lines = [line for line in text.splitlines() if line]
        line = " ".join(lines).replace("\t", " ")
        if self.allowed:
            line = line.strip()
        why_not = self._why_not(line)
        self.said = f"Nothing was pasted. {why_not}" if why_not else ""
        if why_not:
            return
        if len(lines) > 1 or "\t" in text:
            self.said = "Line breaks and tabs were pasted as blanks."
        was = self.value, self.cursor_position
        self.insert_text_at_cursor(line)
        self._note(was)

    def _why_not(self, text: str) -> str:
        refused = first_control_character(text)
        if refused is not None:
            return f"The character {refused} cannot be seen or could upset the screen."
        if self.allowed and not all(one in self.allowed for one in text):
            return "Only a number can be typed here."
        length = len(self.value) + len(text)
        if length > self.most:
            return f"At most {self.most} characters fit here; that would be {length}."
        return ""

    # A letter and the marks on it are one to the eye, so no key goes between them.

    def action_cursor_left(self, select: bool = False) -> None:
        super().action_cursor_left(select)
        while self._before_a_mark:
            super().action_cursor_left(select)

    def action_cursor_right(self, select: bool = False) -> None:
        super().action_cursor_right(select)
        while self._before_a_mark:
            super().action_cursor_right(select)

    def action_delete_right(self) -> None:
        super().action_delete_right()
        while self._before_a_mark:
            super().action_delete_right()

    @property
    def _before_a_mark(self) -> bool:
        at = self.cursor_position
        return 0 < at < len(self.value) and unicodedata.category(self.value[at])[0] == "M"


def _unseen(character: str | None) -> str:
    """The character of a key that sends one no text may hold; "" where the key is a control key."""
    refused = character is not None and len(character) == 1 and first_control_character(character)
    return character if character and refused and unicodedata.category(character) != "Cc" else ""
