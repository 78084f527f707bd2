"""The note as it is written, fitted to the window."""

from __future__ import annotations

from screen_tui.tui.drawing.rows import BLANK, Row, cells, paragraph, row


def draw_note(text: str, width: int) -> list[Row]:
    """Draw each line of the note; one that is too long goes on below, a little further in."""
    rows: list[Row] = []
    for line in text.rstrip("\n").split("\n"):
        if not line.strip():
            rows.append(BLANK)
        elif cells(line) <= width:
            rows.append(row(line))
        else:
            inset = " " * min(len(line) - len(line.lstrip()), width // 3)
            rows += paragraph(line.strip(), width, first=row(inset), indent=len(inset) + 2)
    return rows
