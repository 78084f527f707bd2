"""A document on the screen."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.engine.results import Assessment
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.answer import SIZES, answer_document
from screen_tui.report.cite import in_words
from screen_tui.report.document import Document, Line
from screen_tui.report.layout import Layout
from screen_tui.session.model import Session
from screen_tui.tui.drawing.rows import Row, rule


def draw_document(
    protocol: ScreenProtocol, document: Document, width: int, *, most: int | None = None
) -> list[Row]:
    """Draw a document in so many columns; a paragraph takes the ``most`` lines, or all."""
    layout = Layout(width, in_words(protocol), most)
    return [
        rule(width, line[0].text) if line and line[0].role == "heading" else line
        for line in layout.lines(document)
    ]


def draw_answer(
    protocol: ScreenProtocol,
    session: Session,
    assessment: Assessment,
    width: int,
    height: int,
    changed: Sequence[Line] = (),
) -> list[Row]:
    """Draw the answer on one page: as much of it as ``height`` rows have room for."""
    rows: list[Row] = []
    for size in SIZES:
        document = answer_document(protocol, session, assessment, size, changed)
        rows = draw_document(protocol, document, width, most=size.most)
        if len(rows) <= height:
            break
    return rows
