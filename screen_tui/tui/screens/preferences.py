"""Preferences: each with its value and what it is; a change is saved and holds at once."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from textual import events

from screen_tui.preferences import NAMES, Preferences, about, label, next_value
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    cells,
    clipped,
    paragraph,
    pressing,
    row,
    rule,
)
from screen_tui.tui.keys import KeyHint, digits
from screen_tui.tui.screens.base import BaseScreen, Drawn
from screen_tui.tui.screens.list import move_of

_BY_HAND = {
    "protocol": "There is no other protocol to choose.",
    "protocols": "Folders are written into the file by hand; they are read at the next start.",
}


class PreferencesScreen(BaseScreen[None]):
    """Lists what a person can choose, and changes it one value at a time."""

    heading = "Preferences"
    GUIDE = "preferences"
    STEADY_NOTICE = 1

    def __init__(self) -> None:
        super().__init__()
        self.at = 0

    def draw(self, width: int, height: int) -> Drawn:
        preferred = self.host.preferred
        return Drawn(*draw_preferences(preferred.now, self.at, preferred.path, width))

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("Space", "change", 0, self._change, also=("enter",)),
            KeyHint("↑↓", "move", 1),
            KeyHint(digits(len(NAMES)), "choose", 2),
            KeyHint("b", "back", 0, self.go_back),
            KeyHint("?", "help", 3, self.host.show_help),
        )

    def take_key(self, key: str, event: events.Key) -> bool:
        self.said = ""
        if step := move_of(key):
            self.at = (self.at + step) % len(NAMES)
        elif key.isdecimal() and 1 <= int(key) <= len(NAMES):
            self.at = int(key) - 1
        else:
            return super().take_key(key, event)
        return True

    def _change(self) -> None:
        name, preferred = NAMES[self.at], self.host.preferred
        value = next_value(preferred.now, name, preferred.batteries)
        if value is None:
            self.said = _BY_HAND[name]
            return
        became = self.host.prefer(name, value)
        self.said = f"{label(name)}: {value_words(self.host.preferred.now, name)}. {became}"


_TO_VALUE = 22
_MOST_FOLDERS = 3


def value_words(preferences: Preferences, name: str) -> str:
    """The value of a preference in words."""
    value = getattr(preferences, name)
    if isinstance(value, bool):
        return "on" if value else "off"
    if name == "count_in_s":
        return f"{value} s" if value else "none"
    if isinstance(value, tuple):
        return "none" if not value else f"{len(value)} folder{'s' if len(value) > 1 else ''}"
    return str(value)


def draw_preferences(
    preferences: Preferences, at: int, path: Path, width: int
) -> tuple[list[Row], tuple[int, int]]:
    """Draw the list, with the preference of that place chosen, and the path of their file.

    Returns:
        The rows, and the first and last that must be in sight: the chosen line with what
        explains it.
    """
    rows: list[Row] = []
    for index, name in enumerate(NAMES):
        key = str(index + 1)
        rows += pressing([_line(preferences, name, key, width, chosen=index == at)], key)
    name = NAMES[at]
    rows += [BLANK, rule(width, label(name))]
    rows += paragraph(about(name), width)
    rows += _folders(preferences.protocols, width) if name == "protocols" else []
    last = len(rows) - 1
    rows += [BLANK, *paragraph(f"Saved in {path} under {name}.", width, "quiet")]
    return rows, (at, last)


def _line(preferences: Preferences, name: str, key: str, width: int, *, chosen: bool) -> Row:
    dots = "." * (_TO_VALUE - cells(label(name)) - 1)
    head = row(Span("> " if chosen else "  ", "first"), Span(f" {key} ", "key"), " ")
    text = f"{label(name)} {dots} {value_words(preferences, name)}"
    # The head takes six columns.
    return (*head, Span(clipped(text, width - 6), "cursor" if chosen else "plain"))


def _folders(folders: tuple[str, ...], width: int) -> list[Row]:
    rows = [row("- ", clipped(folder, width - 2)) for folder in folders[:_MOST_FOLDERS]]
    more = len(folders) - len(rows)
    return [*rows, *([row(f"- and {more} more")] if more else [])]
