"""A part of a screen that repaints only those of its rows that have changed.

The framework's own text widget paints all of itself anew whatever changed, ten times a second while
a clock runs; of a trial's screen little but the number changes from one tick to the next.
"""

from __future__ import annotations

from itertools import zip_longest

from rich.segment import Segment
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.widget import Widget

from screen_tui.tui import safe
from screen_tui.tui.drawing.rows import BLANK, Row


class RowsWidget(Widget):
    """Shows rows, one to a line; what is wider than the sheet is cut off.

    Args:
        id: Its name on the screen.
    """

    def __init__(self, id: str) -> None:
        super().__init__(id=id)
        self.rows: tuple[Row, ...] = ()
        self._look: tuple[object, ...] = ()
        self._drawn: dict[int, tuple[Row, list[Segment]]] = {}

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

    def render_lines(self, crop: Region) -> list[Strip]:
        """Draw some lines, with the space beside them; one that was drawn before is not drawn anew.

        Of what a style sheet can set, the colours and the space at the sides are heeded.

        Each is kept once. The framework would keep it several times over, for its own ways of
        cutting and colouring it, half a MiB in all.
        """
        place = (self.outer_size.width, self.styles.padding)
        look = (self.visual_style, *place, *self.get_line_filters())
        if look != self._look:
            self._look, self._drawn = look, {}
        lines = [Strip(self._line(y), self.outer_size.width) for y in crop.line_range]
        return [line.crop(*crop.column_span) for line in lines]

    def _row(self, y: int) -> Row:
        return self.rows[y] if y < len(self.rows) else BLANK

    def _line(self, y: int) -> list[Segment]:
        row, known = self._row(y), self._drawn.get(y)
        if known is None or known[0] != row:
            known = self._drawn[y] = (row, list(self._finished(self.render_line(y))))
        return known[1]

    def _finished(self, line: Strip) -> Strip:
        """The line with the space beside it, in the colours the terminal has."""
        style = self.visual_style.rich_style
        margin = Segment(" " * self.styles.padding.left, style)
        line = Strip([margin, *line]).adjust_cell_length(self.outer_size.width, style)
        _, background = self.background_colors
        for each in self.get_line_filters():
            line = line.apply_filter(each, background)
        return line

    def render_line(self, y: int) -> Strip:
        """Draw one line."""
        width, style = self.size.width, self.visual_style
        return Strip(safe.segments(self._row(y), style)).adjust_cell_length(width, style.rich_style)
