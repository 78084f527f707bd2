"""A small sheet of characters on which a body of joints is drawn, in plain ASCII.

x counts columns to the right, y rows downwards, both from 0; a cell reaches from its number to the
next. A row is about twice as high as a column is wide, and `Point` already counts in cells.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

WIDTH, HEIGHT = 12, 8
"""Columns and rows of one view; two of them side by side are as wide as a timer leaves free."""

_STEEP = 0.6
"""Columns per row up to which a line is drawn row by row."""


class Point(NamedTuple):
    """A place on the sheet, in cells."""

    x: float
    y: float


@dataclass
class Canvas:
    """The sheet; what is drawn later covers what was there."""

    width: int = WIDTH
    height: int = HEIGHT
    cells: dict[tuple[int, int], str] = field(default_factory=dict)

    def put(self, at: Point, text: str) -> None:
        """Write a text beginning in that cell; what falls off the sheet is lost."""
        row, column = int(at.y // 1), int(at.x // 1)
        for offset, character in enumerate(text):
            if 0 <= row < self.height and 0 <= column + offset < self.width and character != " ":
                self.cells[row, column + offset] = character

    def line(self, begin: Point, end: Point) -> None:
        """Draw a limb; its slope chooses the characters."""
        across, down = end.x - begin.x, end.y - begin.y
        if abs(across) > abs(down) * 2.5:
            self._flat(*sorted((begin, end)))
        else:
            self._steep(*sorted((begin, end), key=lambda point: point.y))

    def lines(self) -> tuple[str, ...]:
        """The sheet as lines without blanks at their end."""
        return tuple(
            "".join(self.cells.get((row, column), " ") for column in range(self.width)).rstrip()
            for row in range(self.height)
        )

    def _steep(self, upper: Point, lower: Point) -> None:
        down = lower.y - upper.y
        slope = (lower.x - upper.x) / down if down else 0.0
        character = "|" if abs(slope) < _STEEP else "\\" if slope > 0 else "/"
        first, last = int(upper.y // 1), int(lower.y // 1)
        for row in range(first, last + 1):
            # A row that is only touched at its edge belongs to the joint beyond it.
            top, bottom = max(upper.y, row), min(lower.y, row + 1)
            if bottom - top < 0.3 and last > first:
                continue
            middle = (top + bottom) / 2
            self.put(Point(upper.x + slope * (middle - upper.y), row), character)

    def _flat(self, left: Point, right: Point) -> None:
        across = right.x - left.x
        slope = (right.y - left.y) / across if across else 0.0
        for column in range(int(left.x // 1), int(right.x // 1) + 1):
            middle = min(max(column + 0.5, left.x), right.x)
            y = left.y + slope * (middle - left.x)
            within = y % 1
            self.put(Point(column, y), "'" if within < 0.3 else "-" if within < 0.7 else "_")
