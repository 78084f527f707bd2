"""Preferences: each with its value; a change is saved and holds at once."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.preferences import NAMES, next_value
from screen_tui.tui.drawing.preferences import draw_preferences, label, value_words
from screen_tui.tui.drawing.rows import Row
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head

_BY_HAND = {
    "protocol": "There is no other protocol to choose.",
    "protocols": "Folders are written into the file by hand; they are read at the next start.",
}


class PreferencesScreen(BaseScreen[None]):
    """Lists what a person can choose, and changes it one value at a time."""

    STEADY_NOTICE = 1

    def __init__(self) -> None:
        super().__init__()
        self.at = 0
        self.said = ""

    def head(self) -> tuple[Row, Row]:
        return screen_head("Preferences")

    def draw(self, width: int, height: int) -> Drawn:
        del height
        preferred = self.host.preferred
        return Drawn(*draw_preferences(preferred.now, self.at, preferred.path, width))

    def notice(self) -> str:
        return self.said

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("Space", "change", 0),
            KeyHint("↑↓", "move", 1),
            KeyHint(f"1-{len(NAMES)}", "choose", 2),
            KeyHint("b", "back", 0),
        )

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        self.said = ""
        if key in ("up", "shift+tab"):
            self.at = (self.at - 1) % len(NAMES)
        elif key in ("down", "tab"):
            self.at = (self.at + 1) % len(NAMES)
        elif key.isdecimal() and 1 <= int(key) <= len(NAMES):
            self.at = int(key) - 1
        elif key in ("space", "enter"):
            self._change(NAMES[self.at])
        elif key == "b":
            self.dismiss(None)
        else:
            return False
        return True

    def _change(self, name: str) -> None:
        preferred = self.host.preferred
        value = next_value(preferred.now, name, preferred.batteries)
        if value is None:
            self.said = _BY_HAND[name]
            return
        told = self.host.prefer(name, value)
        self.said = f"{label(name)}: {value_words(self.host.preferred.now, name)}. {told}"
