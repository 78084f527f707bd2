"""The one place where text becomes screen content.

Text typed by people, read from files or given by the operating system never passes through markup:
a bracket is a bracket, and what could steer the terminal is shown as a replacement character.
"""

from __future__ import annotations

from rich.segment import Segment
from textual.style import Style

from screen_tui.files.text import with_control_characters_as
from screen_tui.tui.drawing.rows import Row, TextRole

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
