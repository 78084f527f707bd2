"""A result drawn on one row: where things lie on it, worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screen_tui.tui.drawing.bar import LEAST_CELLS, LEGEND, Scale, draw_bar, scale_for

# 0 to 20 on 21 cells: a cell a unit, so every mark can be counted off. Two labels take 2 and 3.
TWENTY = Scale(0, 20)
WIDTH = 26


def cells(bar: str) -> str:
    return bar.split(" ")[1]


def test_a_value_its_line_and_the_error_lie_where_their_numbers_say() -> None:
    bar = draw_bar(12, 8, 2, "higher", TWENTY, WIDTH)
    #                 0     6 8 10 12      20
    assert bar == "0 ......==|==-O-------- 20"
    assert len(bar) == WIDTH


def test_where_less_is_better_the_short_side_lies_beyond_the_line() -> None:
    assert draw_bar(16, 8, 2, "lower", TWENTY, WIDTH) == "0 ------==|==.....O.... 20"


def test_without_an_error_only_the_line_is_marked() -> None:
    assert draw_bar(3, 10, None, "higher", TWENTY, WIDTH) == "0 ...O......|---------- 20"


def test_a_value_on_the_line_has_a_mark_of_its_own() -> None:
    assert draw_bar(10, 10, None, "higher", TWENTY, WIDTH) == "0 ..........X---------- 20"
    assert draw_bar(10, 10, None, "higher", Scale(0, 10), 16) == "0 ..........X 10"


def test_without_a_line_there_is_only_the_value() -> None:
    assert draw_bar(5, None, 2, "higher", TWENTY, WIDTH) == "0 _____O_______________ 20"


def test_angles_below_nought_have_their_place() -> None:
    # 10 units on 11 cells: -5 is the first, 0 the sixth.
    assert draw_bar(-5, 0, None, "lower", Scale(-5, 5), 16) == "-5 O----|..... 5"


def test_what_lies_apart_is_drawn_apart_however_close() -> None:
    # 9.9 and 10.1 round to the cell of the line at 10.
    assert draw_bar(9.9, 10, None, "higher", TWENTY, WIDTH) == "0 .........O|---------- 20"
    assert draw_bar(10.1, 10, None, "higher", TWENTY, WIDTH) == "0 ..........|O--------- 20"
    # An error of 0.4 is less than a cell; it takes one on each side, and 9.5 lies outside of it.
    assert draw_bar(9.5, 10, 0.4, "higher", TWENTY, WIDTH) == "0 ........O=|=--------- 20"
    assert draw_bar(9.7, 10, 0.4, "higher", TWENTY, WIDTH) == "0 .........O|=--------- 20"


def test_at_the_very_end_of_the_scale_the_line_makes_room() -> None:
    assert draw_bar(20, 19.9, None, "higher", TWENTY, WIDTH) == "0 ...................|O 20"
    assert draw_bar(0, 0.1, 0.05, "lower", TWENTY, WIDTH) == "0 O=|=................. 20"


def test_what_lies_beyond_the_scale_is_drawn_at_its_end() -> None:
    assert cells(draw_bar(99, 10, None, "higher", TWENTY, WIDTH)).endswith("-O")


def test_too_little_room_gives_no_bar_rather_than_a_wrong_one() -> None:
    labels = 5
    assert draw_bar(12, 8, 2, "higher", TWENTY, LEAST_CELLS + labels - 1) == ""
    assert len(draw_bar(12, 8, 2, "higher", TWENTY, LEAST_CELLS + labels)) == LEAST_CELLS + labels


@pytest.mark.parametrize(
    ("values", "limit", "near", "most", "ends"),
    [
        # A quarter beyond the line, so that its other side is seen: 10 * 1.25 = 12.5.
        ([7], 10, None, None, (0, 15)),
        # The value reaches further than the line: 17.9.
        ([17.9], 14.8, 0.62, None, (0, 20)),
        # The error reaches furthest: 3 + 1.26 = 4.26; the other side shares the scale.
        ([0, 4], 3, 1.26, None, (0, 5)),
        ([0.75], 0.8, 0.09, None, (0, 1)),
        # A natural end: the cap of a hold, a score out of six.
        ([6.2, 27.3], 10, None, 45, (0, 45)),
        ([3, 0], 1, None, 6, (0, 6)),
        # Beyond its natural end it is a number like any other.
        ([50], 10, None, 45, (0, 50)),
        # Below nought from there on.
        ([-2, 1], 3, 1.26, None, (-2, 5)),
        ([-2], None, None, None, (-2, 0)),
        ([19], None, None, None, (0, 20)),
        ([0], None, None, None, (0, 1)),
    ],
)
def test_a_scale_holds_the_values_the_line_and_its_error(
    values: list[float],
    limit: float | None,
    near: float | None,
    most: float | None,
    ends: tuple[float, float],
) -> None:
    scale = scale_for(values, limit, near, most)
    assert (scale.low, scale.high) == ends


amounts = st.floats(-200, 500, allow_nan=False).map(lambda x: round(x, 2))
sizes = st.floats(0.01, 60).map(lambda x: round(x, 2))


@given(
    amounts, amounts, st.none() | sizes, st.integers(20, 60), st.sampled_from(["higher", "lower"])
)
def test_the_order_of_the_marks_is_that_of_the_numbers(
    value: float, limit: float, near: float | None, room: int, better: str
) -> None:
    scale = scale_for([value], limit, near)
    assert scale.low <= min(value, limit)
    assert max(value, limit) <= scale.high
    bar = draw_bar(value, limit, near, better, scale, room)
    assert not bar or len(bar) == room
    if not bar:
        return
    track = cells(bar)
    if value == limit:
        assert "X" in track
        assert "|" not in track
        return
    mark, line = track.index("O"), track.index("|")
    assert (mark < line) == (value < limit)
    between = track[min(mark, line) + 1 : max(mark, line)]
    if near is not None and abs(value - limit) < near:
        assert set(between) <= {"="}
    elif near is not None:
        # Beyond the error, the whole band lies between the value and the line.
        assert "=" in between
        assert "=" not in (track[:mark] if mark < line else track[mark:])
    short = "." in track[:line] if value < limit else "." in track[line:]
    good = "-" in track[:line] if value < limit else "-" in track[line:]
    is_short = (value < limit) == (better == "higher")
    assert not (good if is_short else short)


def test_the_legend_names_every_mark() -> None:
    for mark in (
        "O value",
        "| cut-off",
        "X value on the cut-off",
        "= within",
        "- better",
        ". worse",
    ):
        assert mark in LEGEND
    assert LEGEND.isascii()
