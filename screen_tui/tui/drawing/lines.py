"""A list of which one line is chosen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screen_tui.tui.drawing.rows import BLANK, Row, Span, paragraph, pressing, row, rule

LINE = "line "
"""Before the number of a line of a list, as what a click on it stands for."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A line that can be chosen.

    Attributes:
        section: The heading it stands under; empty for none.
        key: A key that chooses it at once; empty for none.
        text: What it is.
    """

    section: str
    key: str
    text: str


def draw_lines(choices: Sequence[Choice], at: int, width: int) -> tuple[list[Row], tuple[int, int]]:
    """Draw the list.

    Args:
        choices: The lines.
        at: The place of the chosen one.
        width: Columns there are.

    Returns:
        The rows, and the first and last row of the chosen line, with the heading above it.
    """
    rows: list[Row] = []
    focus = (0, 0)
    section = ""
    for index, choice in enumerate(choices):
        if choice.section != section:
            section = choice.section
            rows += [*([BLANK] if rows else []), rule(width, section)]
        begins = len(rows)
        chosen = index == at
        head = row(
            Span("> " if chosen else "  ", "first"),
            Span(f" {choice.key} " if choice.key else "   ", "key" if choice.key else "plain"),
            " ",
        )
        lines = paragraph(choice.text, width, "cursor" if chosen else "plain", first=head)
        rows += pressing(lines, f"{LINE}{index}")
        if chosen:
            focus = (max(begins - 2, 0), len(rows) - 1)
    return rows, focus
