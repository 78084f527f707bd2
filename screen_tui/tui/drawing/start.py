"""The list on Start."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screen_tui.tui.drawing.rows import BLANK, Row, Span, paragraph, pressing, row, rule
from screen_tui.tui.drawing.words import NOT_A_DIAGNOSIS

LINE = "line "
"""Before the number of a line of the list, as what a click on it stands for."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A line that can be opened.

    Attributes:
        section: The heading it stands under; empty for none.
        key: A key that opens it at once; empty for none.
        text: What it is.
    """

    section: str
    key: str
    text: str


def draw_start(
    choices: Sequence[Choice], at: int, problems: Sequence[str], width: int
) -> tuple[list[Row], tuple[int, int]]:
    """Draw the list.

    Returns:
        The rows, and the first and last row of the chosen line.
    """
    rows: list[Row] = []
    focus = (0, 0)
    section = ""
    for index, choice in enumerate(choices):
        if choice.section != section:
            section = choice.section
            rows += [BLANK, rule(width, section)]
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
            # The first line is seen together with the heading above it.
            focus = (max(begins - 2, 0), len(rows) - 1)
    rows.append(BLANK)
    if problems:
        rows.append(rule(width, "Files that cannot be used; they are left as they are"))
        rows += [line for text in problems for line in paragraph(text, width, first=row("- "))]
        rows.append(BLANK)
    rows += paragraph(NOT_A_DIAGNOSIS, width, "quiet")
    return rows, focus
