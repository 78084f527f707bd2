"""The line of keys, which must never be cut off."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from screen_tui.tui.drawing.rows import plain, row_cells
from screen_tui.tui.keys import KeyHint, lay_out, rows_of

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
    drawn = rows_of(lay_out(hints, width, rows))
    assert len(drawn) <= rows
    assert all(row_cells(line) <= width for line in drawn)


@given(_hints, st.integers(46, 140))
def test_what_is_left_out_ranks_no_lower_than_what_stays(hints: list[KeyHint], width: int) -> None:
    kept = [hint for line in lay_out(hints, width, 2) for hint in line]
    left_out = list(hints)
    for hint in kept:
        left_out.remove(hint)
    assert not left_out or not kept or min(h.rank for h in left_out) >= max(h.rank for h in kept)


def test_keys_keep_their_order_and_wrap() -> None:
    hints = [KeyHint("Space", "start"), KeyHint("n", "next"), KeyHint("?", "help")]
    assert plain(rows_of(lay_out(hints, 24))) == " Space  start   n  next\n ?  help"


def test_the_highest_rank_goes_first() -> None:
    hints = [KeyHint("q", "leave", 7), KeyHint("Space", "start", 0), KeyHint("n", "next", 2)]
    assert plain(rows_of(lay_out(hints, 24, 1))) == " Space  start   n  next"
