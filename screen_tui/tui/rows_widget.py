"""A part of a screen that shows rows, and the one place where text becomes screen content.

Text typed by people, read from files or given by the operating system never passes through markup:
a bracket is a bracket, and what could steer the terminal is shown as a replacement character.

The framework's own text widget paints all of itself anew whatever changed, ten times a second while
a clock runs; of a trial's screen little but the number changes from one tick to the next.
"""

from __future__ import annotations

from itertools import zip_longest

from rich.segment import Segment
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.style import Style
from textual.widget import Widget

from screen_tui.files.text import with_control_characters_as
from screen_tui.tui.drawing.rows import BLANK, Row, TextRole

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
    """Shows rows, one to a line, and repaints only those that change; wider ones are cut off.

    Args:
        id: Its name on the screen.
    """

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
        """All there is."""
        del viewport
        return container.width

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """A line for each row."""
        del container, viewport, width
        return len(self.rows)

    def render_line(self, y: int) -> Strip:
        """Draw one line."""
        line = self.rows[y] if y < len(self.rows) else BLANK
        width, style = self.size.width, self.visual_style
        return Strip(segments(line, style)).adjust_cell_length(width, style.rich_style)
