"""A document laid out: margins, marks, tables, bars, and what is cut where there is little room."""

from __future__ import annotations

from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screen_tui.report.document import Bar, Bars, Document, Line, Part, Section, Table
from screen_tui.report.html import write_html
from screen_tui.report.layout import Layout, write_text

LONG = "One two three four five six seven eight nine ten eleven twelve."


def text(*parts: Part, width: int = 40, most: int | None = None, **more: Any) -> str:
    document = Document((Section(parts, tag=more.pop("tag", "")),), **more)
    return write_text(document, Layout(width, most=most))


def test_sections_are_a_blank_line_apart_under_headings_in_capitals() -> None:
    document = Document(
        (
            Section((Line("one"),), "First"),
            Section((), "Empty"),
            Section((Line("two"),), "Second"),
            Section((Line("three"),), apart=False),
        ),
        "Title",
    )
    assert write_text(document) == "Title\n\nFIRST\none\n\nSECOND\ntwo\nthree\n"
    assert write_text(replace(document, spaced=False)).count("\n\n") == 0


def test_a_tag_is_in_the_margin_beside_the_first_line_only() -> None:
    assert text(Line("one"), Line("two"), margin=4, tag="For") == "For one\n    two\n"
    assert text(Line("one"), margin=4) == "one\n"


def test_what_follows_hangs_below_the_text_behind_a_mark_and_below_a_label() -> None:
    marked = text(Line(LONG, mark="-")).splitlines()
    assert marked[0].startswith("- One")
    assert all(line.startswith("  ") for line in marked[1:])
    labelled = text(Line(LONG, "Dose", level=1)).splitlines()
    assert labelled[0].startswith("  Dose: One")
    assert all(line.startswith("    ") for line in labelled[1:])


def test_a_paragraph_is_cut_with_a_sign_unless_it_must_not_be() -> None:
    short, whole = text(Line(LONG), most=1), text(Line(LONG))
    assert short == "One two three four five six seven ...\n"
    assert text(Line(LONG, cut=False), most=1) == whole
    every = Layout(40, most=1, most_of_all=1)
    assert write_text(Document((Section((Line(LONG, cut=False),)),)), every) == short
    verdict = Line(LONG, role="verdict")
    assert write_text(Document((Section((verdict,)),)), every) == whole


def test_a_source_is_cited_behind_its_text() -> None:
    document = Document(
        (
            Section(
                (Line("It is so.", source="a"), Line("And so.")),
            ),
        )
    )
    assert write_text(document, Layout(cite=str.upper)) == "It is so. A\nAnd so.\n"


def test_bars_are_on_one_scale_beside_their_words() -> None:
    bars = Bars((Bar("hip", 0.5, "possible"), Bar("foot", 0.0, "not supported")))
    assert text(bars, width=33) == (
        "hip   ======------  possible\nfoot  ------------  not supported\n"
    )
    assert text(bars, width=21) == "hip   possible\nfoot  not supported\n"
    assert text(bars, width=18) == "hip  possible\n...  not supported\n"


def test_a_cell_goes_on_below_or_over_the_empty_ones_beside_it() -> None:
    table = Table(("Test", "Left", "Right"), (("a", "one two three four", ""), ("b", "5", "6")))
    assert text(table) == ("Test  Left  Right\na     one two three four\nb     5     6\n")
    narrow = text(table, width=18).splitlines()
    assert narrow[1:3] == ["a     one two", "      three four"]


@given(
    st.lists(st.tuples(st.text(), st.text(), st.text()), min_size=1, max_size=5),
    st.integers(24, 100),
)
def test_no_line_of_a_table_is_wider_than_there_is_room(
    rows: list[tuple[str, str, str]], width: int
) -> None:
    told = text(Table(("Test", "Left", "Right"), tuple(rows)), width=width)
    laid = Layout(width, ascii_only=True).part(Table(("Test", "Left", "Right"), tuple(rows)))
    assert all(sum(len(piece.text) for piece in line) <= width for line in laid)
    assert told.endswith("\n")


class _Page(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self.tags: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        del attrs
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


@pytest.mark.parametrize(
    ("part", "tag"),
    [
        (Line("<b>x</b>", "<i>"), "p"),
        (Line("<b>x</b>", mark="-"), "ul"),
        (Line("<b>x</b>", mark="1)"), "ol"),
        (Table(("<b>x</b>",), (("y",),)), "table"),
        (Bars((Bar("<b>x</b>", 0.5, "y"),)), "pre"),
    ],
)
def test_every_part_has_its_element_and_every_text_is_only_text(part: Part, tag: str) -> None:
    page = _Page(write_html(Document((Section((part,), "<script>"),), "<title>")))
    assert tag in page.tags
    assert {"b", "i", "script"} & set(page.tags) == set()
    assert "<b>x</b>" in "".join(page.texts)
