"""Two blocks of rows side by side."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from screen_tui.tui.drawing.rows import BLANK, Row, Span, row_cells

GAP = 2
"""Columns left empty between the two."""


def column_width(width: int) -> int:
    """The columns each of two blocks may take."""
    return (width - GAP) // 2


def side_by_side(left: Sequence[Row], right: Sequence[Row], width: int) -> list[Row]:
    """Set one block beside the other; each has been fitted to `column_width` before."""
    start = column_width(width) + GAP
    return [
        (*first, Span(" " * (start - row_cells(first))), *second) if second else first
        for first, second in zip_longest(left, right, fillvalue=BLANK)
    ]
