"""A part of a screen that repaints only those of its rows that have changed.

The framework's own text widget paints all of itself anew whatever changed, ten times a second while
a clock runs; of a trial's screen little but the number changes from one tick to the next.
"""

from __future__ import annotations

from itertools import zip_longest

from textual.geometry import Region, Size
from textual.strip import Strip
from textual.visual import Visual
from textual.widget import Widget

from screen_tui.tui import safe
from screen_tui.tui.drawing.rows import Row


class Sheet(Widget):
    """Shows rows, one to a line; what is wider than the sheet is cut off.

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
        width, style = self.size.width, self.visual_style
        if y >= len(self.rows):
            return Strip.blank(width, style.rich_style)
        return Visual.to_strips(self, safe.content(self.rows[y : y + 1]), width, 1, style)[0]
