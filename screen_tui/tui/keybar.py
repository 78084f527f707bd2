"""The line that says what the keys do at this moment; what does not fit is left out by rank."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screen_tui.tui.drawing.rows import Row, Span, cells

_BETWEEN = 2


@dataclass(frozen=True, slots=True)
class KeyHint:
    """A key and what it does now.

    Attributes:
        key: As printed on the key, such as ``Space``.
        does: A word or two.
        rank: What goes first when there is no room: the highest. Rank 0 always stays.
    """

    key: str
    does: str
    rank: int = 5

    @property
    def width(self) -> int:
        """Columns the hint takes."""
        return cells(self.key) + cells(self.does) + 3


def lay_out(hints: Sequence[KeyHint], width: int, rows: int = 2) -> tuple[tuple[KeyHint, ...], ...]:
    """Arrange hints on at most ``rows`` lines of ``width`` columns.

    The order is kept. When they do not fit, the hint of the highest rank is dropped, of equals the
    last one, until they do.

    Returns:
        The lines, without empty ones.
    """
    kept = [hint for hint in hints if hint.width <= width]
    lines = _flow(kept, width)
    while len(lines) > rows:
        kept.remove(max(reversed(kept), key=lambda hint: hint.rank))
        lines = _flow(kept, width)
    return lines


def _flow(hints: Sequence[KeyHint], width: int) -> tuple[tuple[KeyHint, ...], ...]:
    lines: list[list[KeyHint]] = []
    used = width + 1
    for hint in hints:
        if used + _BETWEEN + hint.width > width:
            lines.append([])
            used = -_BETWEEN
        lines[-1].append(hint)
        used += _BETWEEN + hint.width
    return tuple(tuple(line) for line in lines)


def key_rows(hints: Sequence[KeyHint], width: int, rows: int = 2) -> tuple[Row, ...]:
    """Draw the hints as rows, keys set off from what they do."""
    return tuple(
        tuple(
            span
            for at, hint in enumerate(line)
            for span in (
                Span(" " * _BETWEEN if at else "", "plain"),
                Span(f" {hint.key} ", "key"),
                Span(f" {hint.does}", "plain"),
            )
        )
        for line in lay_out(hints, width, rows)
    )
