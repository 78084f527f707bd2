"""Names of files and folders as they may be printed: they can hold any character at all."""

from __future__ import annotations

import unicodedata

from screen_tui.characters import first_control_character


def harmless(text: str) -> str:
    """One line of a text: what could steer a terminal, break a line or hide stands as ``?``."""
    return "".join(
        "?"
        if unicodedata.category(character) == "Cf" or first_control_character(character)
        else character
        for character in text
    )
