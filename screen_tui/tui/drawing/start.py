"""The list on Start."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.tui.drawing.rows import BLANK, Choice, Row, draw_lines, paragraph, row, rule
from screen_tui.tui.drawing.words import NOT_A_DIAGNOSIS


def draw_start(
    choices: Sequence[Choice],
    at: int,
    problems: Sequence[str],
    width: int,
    told: Sequence[str] = (),
) -> tuple[list[Row], tuple[int, int]]:
    """Draw what is told once, the list, and below it the files that cannot be used.

    Returns:
        The rows, and the first and last row of the chosen line.
    """
    rows = [line for text in told for line in (*paragraph(text, width, "second"), BLANK)]
    above = len(rows)
    listed, (first, last) = draw_lines(choices, at, width)
    # The first line brings what stands above it into sight.
    focus = (first + above if at else 0, last + above)
    rows += [*listed, BLANK]
    if problems:
        rows.append(rule(width, "Files that cannot be used; they are left as they are"))
        rows += [line for text in problems for line in paragraph(text, width, first=row("- "))]
        rows.append(BLANK)
    rows += paragraph(NOT_A_DIAGNOSIS, width, "quiet")
    return rows, focus
