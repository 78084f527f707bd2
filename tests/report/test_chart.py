"""The chart of a few visits, character by character and as properties of any values."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.thorough import examples

from screen_tui.report.chart import NO_VALUE, ONE_VISIT, Figure, Mark, Scale, chart, columns_of

DAYS = [date(2026, 3, 2), date(2026, 3, 16), date(2026, 4, 2), date(2026, 6, 1)]
STANCE = Figure("s", 1, "higher", ("at least", 10.0), 4.2)


def drawn(values: list[float | None], figure: Figure = STANCE, **more: Any) -> list[str]:
    marks = [Mark(day, value) for day, value in zip(DAYS, values, strict=False)]
    return chart(marks, figure, **{"ascii": True, **more})


def test_a_chart_reads_as_agreed_in_plain_characters() -> None:
    figure = Figure("s", 1, "lower", ("at most", 11.4), 1.7)
    assert "\n".join(drawn([14.2, 12.9, 12.0, 11.0], figure, height=8)) == (
        """\
v lower is better; s
16.8 |
     |
     |.14.2.............................................
     |..*...............................................
     |........12.9......................................
     |.........*......12.0..............................
     |                 *                           11.0
10.8 |- - - - - - - - - - - - - - - - - - - - - - - * -
     +--+------+-------+----------------------------+---
      2026-03-02     04-02                    2026-06-01
... first value +/- 1.7 s: within measurement error
- - cut-off: at most 11.4 s
the axis is cut: it begins at 10.8 s, not at 0"""
    )


def test_a_chart_reads_as_agreed_in_fine_characters() -> None:
    figure = Figure("m/s", 2, "higher", None, 0.24)
    marks = [Mark(DAYS[0], 0.2), Mark(DAYS[1], 0.5, at_least=True), Mark(DAYS[2], 0.3, apart=True)]
    fine = str.maketrans("^|:x+-t>", "\u2191\u2502\u2591\u00d7\u2514\u2500\u2534\u2265")
    field = """\
0.56 |             >0.50
     |               o
     |:0.20::::::::::::::::::::::::0.30:
     |::o:::::::::::::::::::::::::::x:::
     |::::::::::::::::::::::::::::::::::
0.00 |::::::::::::::::::::::::::::::::::
     +--t------------t--------------t---"""
    assert chart(marks, figure, width=40, height=6) == [
        "\u2191 higher is better; m/s",
        *field.replace("o", "\u25cf").translate(fine).splitlines(),
        "      2026-03-02   03-16      2026-04-02",
        "\u2591\u2591\u2591 first value \u00b1 0.24 m/s: within",
        "  measurement error",
        "\u00d7 not comparable with the first value",
    ]


@pytest.mark.parametrize(
    ("values", "said"),
    [([6.2], ONE_VISIT), ([None, 6.2, None], ONE_VISIT), ([], NO_VALUE), ([None], NO_VALUE)],
)
def test_fewer_than_two_numbers_make_a_sentence(values: list[float | None], said: str) -> None:
    assert drawn(values) == [said]


def test_a_visit_without_a_number_has_no_mark() -> None:
    lines = drawn([6.2, None, 9.0])
    assert sum(line.count("*") for line in lines) == 2
    assert not any("03-16" in line for line in lines)


def test_which_way_is_better_is_drawn_and_said() -> None:
    assert drawn([6.2, 9.0])[0] == "^ higher is better; s"
    assert drawn([6.2, 9.0], Figure("s", 1, "lower"))[0] == "v lower is better; s"


def test_an_axis_that_does_not_begin_at_nought_says_so() -> None:
    cut = "the axis is cut: it begins at"
    assert cut in drawn([14.0, 12.0], Figure("s", 1, "lower"))[-1]
    # The lowest value is a small part of the highest, so nought is on the axis.
    assert not any(cut in line for line in drawn([40.0, 9.0], Figure("s", 1, "lower")))
    assert any(line.startswith(" 0.0 |") for line in drawn([40.0, 9.0], Figure("s", 1, "lower")))


def test_values_keep_their_decimals_and_a_nought_has_no_sign() -> None:
    lines = drawn([-0.2, 4.0], Figure("deg", 0, "lower"))
    assert not any("-0" in line for line in lines if "2026" not in line)


def test_a_limit_keeps_the_decimals_it_was_published_with() -> None:
    lines = drawn([12.0, 9.0], Figure("stands", 0, "higher", ("at least", 10.5)))
    assert "- - cut-off: at least 10.5 stands" in lines


def test_equal_values_have_a_chart_too() -> None:
    lines = drawn([5.0, 5.0], Figure("s", 1, "higher"))
    assert sum(line.count("*") for line in lines) == 2


def test_marks_are_at_their_dates_and_never_in_one_column() -> None:
    # 14 of 91 days over 44 columns, two being left free: 2 + 44 * 14 / 91 = 8.8.
    assert columns_of(DAYS, 50) == [2, 9, 17, 46]
    assert columns_of([DAYS[0]] * 3, 50) == [2, 24, 46]
    near = [DAYS[0], DAYS[0] + timedelta(1), DAYS[0] + timedelta(2), DAYS[0] + timedelta(365)]
    assert columns_of(near, 50) == [2, 4, 6, 46]
    late = [DAYS[0], *(DAYS[0] + timedelta(days) for days in (363, 364, 365))]
    assert columns_of(late, 50) == [2, 42, 44, 46]


def test_what_has_no_room_on_the_chart_is_counted() -> None:
    marks = [Mark(DAYS[0] + timedelta(day), 100.0 + day % 2) for day in range(11)]
    lines = chart([*marks, Mark(DAYS[0] + timedelta(900), 100.5)], STANCE, ascii=True, height=6)
    assert any("no room on the chart; the table has all" in line for line in lines)


@pytest.mark.parametrize(
    ("marks", "more"),
    [
        ([Mark(DAYS[0], 1.0)] * 13, {}),
        ([Mark(DAYS[1], 1.0), Mark(DAYS[0], 1.0)], {}),
        ([Mark(DAYS[0], 1.0)], {"width": 39}),
        ([Mark(DAYS[0], 1.0)], {"height": 5}),
    ],
)
def test_what_cannot_be_drawn_is_refused(marks: list[Mark], more: dict[str, int]) -> None:
    with pytest.raises(ValueError, match=r"marks|room"):
        chart(marks, STANCE, **more)


VALUES = st.lists(st.floats(0, 200).map(lambda value: round(value, 1)), min_size=2, max_size=12)
ERRORS = st.floats(0.1, 60).map(lambda value: round(value, 1))
LINES = st.none() | st.tuples(st.just("at least"), st.integers(0, 100).map(float))


@settings(max_examples=examples(200))
@given(VALUES, st.none() | ERRORS, LINES, st.integers(6, 20), st.integers(40, 90), st.booleans())
def test_any_chart_fits_and_shows_every_mark(
    values: list[float],
    error: float | None,
    line: tuple[str, float] | None,
    height: int,
    width: int,
    ascii: bool,
) -> None:
    marks = [Mark(DAYS[0] + timedelta(7 * i), value) for i, value in enumerate(values)]
    figure = Figure("s", 1, "higher", line, error)
    lines = chart(marks, figure, width=width, height=height, ascii=ascii)
    assert max(map(len, lines)) <= width
    assert all(one == one.rstrip() for one in lines)
    field = lines[1 : 1 + height]
    assert sum(one.count("*" if ascii else "\u25cf") for one in field) == len(values)
    if ascii:
        assert all(" " <= character <= "~" for one in lines for character in one)
    bottom = float(field[-1].split()[0])
    said = " ".join(line.strip() for line in lines)
    assert ("the axis is cut: it begins at" in said) == (bottom > 0)


@given(VALUES, ERRORS, LINES, st.integers(6, 20))
def test_a_mark_is_shaded_exactly_when_it_is_within_the_error_of_the_first(
    values: list[float], error: float, line: tuple[str, float] | None, height: int
) -> None:
    scale = Scale.of(values, line[1] if line else None, error, height)
    for value in values:
        row = scale.row(value)
        assert 1 <= row < height
        assert scale.shaded(row) == (abs(value - values[0]) < error - 1e-9)


@given(VALUES, st.none() | ERRORS, LINES, st.integers(6, 20))
def test_a_higher_value_never_stands_lower(
    values: list[float], error: float | None, line: tuple[str, float] | None, height: int
) -> None:
    scale = Scale.of(values, line[1] if line else None, error, height)
    rows = [scale.row(value) for value in sorted(values)]
    assert rows == sorted(rows, reverse=True)
