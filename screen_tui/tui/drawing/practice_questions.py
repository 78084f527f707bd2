"""What the simulated patient says, below the question that is open."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.tui.drawing.rows import Row, Span, paragraph, row, rule

PATIENT_SAYS = "The patient says"


def draw_heard(heard: Sequence[str], width: int) -> list[Row]:
    """Everything heard to a question so far; the latest stands out."""
    if not heard:
        return []
    rows = [rule(width, PATIENT_SAYS)]
    for at, words in enumerate(heard, start=1):
        newest = at == len(heard)
        rows += paragraph(words, width, "strong" if newest else "plain", first=row(Span("- ")))
    return rows
