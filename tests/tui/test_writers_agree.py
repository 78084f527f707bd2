"""What one writer of a document says, every other says: text, screen and printable page."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape

import pytest
from support.every_session import SESSION_FILES, judged

from screen_tui.report.answer import answer_document, details_document
from screen_tui.report.cite import in_words
from screen_tui.report.document import Document
from screen_tui.report.html import write_html
from screen_tui.report.layout import Layout, write_text
from screen_tui.report.patient_sheet import sheet_document
from screen_tui.report.plan import plan_document
from screen_tui.tui.drawing.document import draw_document
from screen_tui.tui.drawing.rows import plain

BUILDERS = (answer_document, details_document, plan_document, sheet_document)


def words(text: str) -> list[str]:
    """The words in their order; numbers of steps and keys may be drawn in another way."""
    return [one for one in re.findall(r"\w+", text.upper()) if not one.isdecimal()]


def documents(name: str) -> Iterator[Document]:
    for build in BUILDERS:
        yield build(*judged(name))


@pytest.mark.parametrize("name", SESSION_FILES)
@pytest.mark.parametrize("width", [58, 78, 118])
def test_the_screen_says_what_the_text_says(name: str, width: int) -> None:
    protocol, _, _ = judged(name)
    layout = Layout(width, in_words(protocol))
    for document in documents(name):
        # Columns of a table break their cells at the same places, so that the order is the same.
        assert words(plain(draw_document(protocol, document, width))) == words(
            write_text(document, layout)
        )


@pytest.mark.parametrize("name", SESSION_FILES)
def test_the_printable_page_says_what_the_text_says(name: str) -> None:
    for document in documents(name):
        _, body = write_html(document).split("<body>")
        page = unescape(re.sub(r"<[^>]*>", " ", body))
        assert sorted(words(page)) == sorted(words(write_text(document, Layout(1000))))
