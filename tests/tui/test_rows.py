"""Rows and the line of keys fit their width, whatever the text."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

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
from screen_tui.tui.keys import KeyHint, fitting, lay_out

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


@given(st.text(max_size=40))
def test_text_takes_the_columns_the_library_says(text: str) -> None:
    assert cells(text) == cell_len(text)


_hints = st.lists(
    st.builds(
        KeyHint,
        key=st.sampled_from(["Space", "Enter", "1-9", "n", "↑↓", "Backspace", "?"]),
        does=st.text(st.characters(codec="ascii", categories=["Ll"]), min_size=1, max_size=30),
        rank=st.integers(0, 9),
    ),
    max_size=14,
)


@given(_hints, st.integers(20, 140), st.integers(1, 3))
def test_the_keys_never_take_more_than_there_is(
    hints: list[KeyHint], width: int, rows: int
) -> None:
    drawn = lay_out(hints, width, rows)
    assert len(drawn) <= rows
    assert all(row_cells(line) <= width for line in drawn)


@given(_hints, st.integers(46, 140))
def test_what_is_left_out_ranks_no_lower_than_what_stays(hints: list[KeyHint], width: int) -> None:
    kept = fitting(hints, width, 2)
    left_out = list(hints)
    for hint in kept:
        left_out.remove(hint)
    assert not left_out or not kept or min(h.rank for h in left_out) >= max(h.rank for h in kept)


def test_keys_keep_their_order_and_wrap() -> None:
    hints = [KeyHint("Space", "start"), KeyHint("n", "next"), KeyHint("?", "help")]
    assert plain(lay_out(hints, 24)) == " Space  start   n  next\n ?  help"


def test_the_highest_rank_goes_first() -> None:
    hints = [KeyHint("q", "leave", 7), KeyHint("Space", "start", 0), KeyHint("n", "next", 2)]
    assert plain(lay_out(hints, 24, 1)) == " Space  start   n  next"
