"""The one place where text becomes screen content.

Text typed by people, read from files or given by the operating system never passes through markup:
a bracket is a bracket, and what could steer the terminal is shown as a replacement character.
"""

from __future__ import annotations

from collections.abc import Iterable

from textual.content import Content

from screen_tui.characters import first_control_character
from screen_tui.tui.drawing.rows import Ink, Row

STYLES: dict[Ink, str] = {
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
    if first_control_character(text) is None:
        return text
    return "".join(
        REPLACEMENT if first_control_character(character) else character for character in text
    )


def content(rows: Iterable[Row]) -> Content:
    """Build what a widget shows from rows."""
    lines = [
        Content.assemble(*((inert(span.text), STYLES[span.ink]) for span in line)) for line in rows
    ]
    return Content("\n").join(lines)
