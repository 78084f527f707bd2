"""Preferences: each with its value and what it is; a change is saved and holds at once."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from textual import events

from screen_tui.preferences import NAMES, Preferences, about, label, next_value
from screen_tui.tui.drawing.rows import (
    BLANK,
    Choice,
    Row,
    clipped,
    draw_lines,
    paragraph,
    row,
    rule,
)
from screen_tui.tui.keys import KeyHint, digits
from screen_tui.tui.screens.base import Drawn
from screen_tui.tui.screens.list import ListScreen

_BY_HAND = {
    "protocol": "There is no other protocol to choose.",
    "protocols": "Folders are written into the file by hand; they are read at the next start.",
}


class PreferencesScreen(ListScreen[None]):
    """Lists what a person can choose, and changes it one value at a time."""

    GUIDE = "preferences"
    STEADY_NOTICE = 1
    ANY_SIZE = False

    def __init__(self) -> None:
        super().__init__("Preferences")

    def lines(self) -> Sequence[Choice]:
        return preference_lines(self.host.preferred.now)

    def draw(self, width: int, height: int) -> Drawn:
        preferred = self.host.preferred
        return Drawn(*draw_preferences(preferred.now, self.at, preferred.path, width))

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("Space", "change", 0, self.choose),
            KeyHint("↑↓", "move", 1),
            KeyHint(digits(len(NAMES)), "choose", 2),
            KeyHint("b", "back", 0, self.go_back),
            KeyHint("?", "help", 3, self.host.show_help),
        )

    def take_key(self, key: str, event: events.Key) -> bool:
        self.said = ""
        if key.isdecimal() and 1 <= int(key) <= len(NAMES):
            self.at = int(key) - 1
            return True
        return super().take_key(key, event)

    def choose(self) -> None:
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


def preference_lines(preferences: Preferences) -> list[Choice]:
    """A line for each preference, with its value."""
    return [
        Choice("", str(at), f"{f'{label(name)} ':.<{_TO_VALUE}} {value_words(preferences, name)}")
        for at, name in enumerate(NAMES, start=1)
    ]


def draw_preferences(
    preferences: Preferences, at: int, path: Path, width: int
) -> tuple[list[Row], tuple[int, int]]:
    """Draw the list, what explains the one chosen, and the path; gives what must be in sight."""
    name = NAMES[at]
    rows, (first, _) = draw_lines(preference_lines(preferences), at, width)
    rows += [BLANK, rule(width, label(name)), *paragraph(about(name), width)]
    rows += _folders(preferences.protocols, width) if name == "protocols" else []
    last = len(rows) - 1
    rows += [BLANK, *paragraph(f"Saved in {path} under {name}.", width, "quiet")]
    return rows, (first, last)


def _folders(folders: tuple[str, ...], width: int) -> list[Row]:
    rows = [row("- ", clipped(folder, width - 2)) for folder in folders[:_MOST_FOLDERS]]
    more = len(folders) - len(rows)
    return [*rows, *([row(f"- and {more} more")] if more else [])]
