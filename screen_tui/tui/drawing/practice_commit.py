"""The student's answer before anything is shown: one question open, the answered ones above it."""

from __future__ import annotations

from screen_tui.tui.commit_form import CommitForm, Step
from screen_tui.tui.drawing.lines import LINE
from screen_tui.tui.drawing.rows import BLANK, Row, Span, labelled, paragraph, pressing, row

LAST_WORD = (
    "Enter commits to this. After that nothing can be changed, and the answers of the case's "
    "author and of the program are shown. Backspace goes back."
)


def draw_commitment(form: CommitForm, width: int) -> tuple[list[Row], tuple[int, int]]:
    """Draw the answers so far and the open question.

    Returns:
        The rows, and the first and last of those that must be in sight.
    """
    rows: list[Row] = []
    for step in form.steps[: form.at]:
        rows += labelled(step.short, "; ".join(form.chosen(step)) or "nothing", width)
    if form.step is None:
        last = [BLANK, *paragraph(LAST_WORD, width, "second")]
        return [*rows, *last], (len(rows), len(rows) + len(last) - 1)
    begins = len(rows)
    rows += [*([BLANK] if rows else []), *paragraph(form.step.text, width, "strong")]
    focus = (begins, begins)
    for place in range(len(form.step.options)):
        first = len(rows)
        rows += pressing(_option(form, form.step, place, width), f"{LINE}{place}")
        if place == form.mark:
            # The question itself stays in sight as long as the mark is near it.
            focus = (begins if place == 0 else first, len(rows) - 1)
    return rows, focus


def _option(form: CommitForm, step: Step, place: int, width: int) -> list[Row]:
    option = step.options[place]
    marked = place == form.mark
    on = option.id in form.answers.get(step.id, ())
    box = ("[x] " if on else "[ ] ") if step.several else ""
    head = row(
        Span("> " if marked else "  ", "first"),
        Span(f" {option.key} " if option.key else "   ", "key" if option.key else "plain"),
        Span(f" {box}", "strong" if on else "plain"),
    )
    return paragraph(option.label, width, "cursor" if marked else "plain", first=head)
