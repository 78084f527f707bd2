"""Rows fit their width, whatever the text."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from screen_tui.tui.drawing.result import draw_note
from screen_tui.tui.drawing.rows import (
    Span,
    cells,
    clipped,
    ends,
    paragraph,
    plain,
    row_cells,
    rule,
    wrapped,
)

# Letters of one and of two columns, and combining marks of none.
_texts = st.text(
    st.one_of(
        st.characters(codec="ascii", categories=["L", "N", "P"]),
        st.sampled_from(" 　膝関節é́"),
    ),
    max_size=120,
)
_widths = st.integers(4, 130)


@given(_texts, _widths)
def test_wrapped_text_fits_and_loses_nothing(text: str, width: int) -> None:
    lines = wrapped(text, width)
    assert all(row_cells((Span(line),)) <= width for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


@given(_texts, st.integers(8, 130), st.integers(0, 6))
def test_a_paragraph_with_a_head_fits(text: str, width: int, indent: int) -> None:
    for line in paragraph(text, width, first=(Span("- "),), indent=indent):
        assert row_cells(line) <= width


@given(_texts, _texts, st.integers(40, 130))
def test_two_ends_fit_while_the_right_one_does(left: str, right: str, width: int) -> None:
    right = clipped(right, 20)
    assert row_cells(ends((Span(left),), (Span(right),), width)) <= width


@given(_texts, st.integers(8, 130))
def test_a_rule_is_as_wide_as_asked(label: str, width: int) -> None:
    assert row_cells(rule(width, label)) <= width


def test_a_long_line_of_a_note_goes_on_further_in() -> None:
    text = "S: SUBJECTIVE\n  Complaint: pain on the stairs and after sitting for long\n"
    assert plain(draw_note(text, 40)) == (
        "S: SUBJECTIVE\n  Complaint: pain on the stairs and\n    after sitting for long"
    )


@given(st.text(max_size=40))
def test_text_takes_the_columns_the_library_says(text: str) -> None:
    assert cells(text) == cell_len(text)
