"""The line that says what the keys do at this moment; what does not fit is left out by rank."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from screen_tui.tui.drawing.rows import Row, Span, cells

_BETWEEN = 2
_NAMES = {"Bksp": "backspace", "↑": "up", "↓": "down", "←": "left", "→": "right"}
"""Names of keys that are printed in another way."""


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

    @property
    def press(self) -> str:
        """The name of the key; "" where the hint names several."""
        return self.spans[-1].press

    @property
    def spans(self) -> Row:
        """The hint as it is drawn; a click presses the key, of several the one under it."""
        if re.search(r"\d-\d", self.key):
            # A range: what its keys do has places of its own to be clicked.
            return Span(f" {self.key} ", "key"), Span(f" {self.does}")
        keys = re.findall(r"[A-Za-z]+|\S|\s", self.key)
        presses = [_NAMES.get(key, key.lower() if key not in (" ", "/") else "") for key in keys]
        presses = ["/"] if self.key == "/" else presses
        only = presses[0] if len(presses) == 1 else ""
        parts = (Span(key, "key", press) for key, press in zip(keys, presses, strict=True))
        edge = Span(" ", "key", only)
        return edge, *parts, edge, Span(f" {self.does}", "plain", only)


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


def rows_of(lines: Sequence[Sequence[KeyHint]]) -> tuple[Row, ...]:
    """Draw hints that are laid out, keys set off from what they do."""
    return tuple(
        tuple(
            span
            for at, hint in enumerate(line)
            for span in (Span(" " * _BETWEEN if at else ""), *hint.spans)
        )
        for line in lines
    )
