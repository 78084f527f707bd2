"""Large numbers, drawn and fitted."""

from __future__ import annotations

import pytest

from screen_tui.tui.bigdigits import big_beside

SMALL = """\
██████  ██████      ██  ██
    ██      ██      ██  ██
██████    ██        ██████
██        ██            ██
██████    ██    ██      ██"""

LARGE = """\
  ████    ████████      ██    ██
██    ██        ██      ██    ██
      ██        ██      ██    ██
    ██        ██        ████████
  ██          ██              ██
██          ██                ██
████████    ██      ██        ██"""

STROKES = """\
 _   _
 _|   |   |_|
|_    | .   |"""


def big(text: str, columns: int, rows: int) -> tuple[str, ...]:
    return big_beside((text,), columns, rows)[0]


@pytest.mark.parametrize(
    ("text", "rows", "drawn"), [("27.4", 5, SMALL), ("27.4", 7, LARGE), ("27.4", 3, STROKES)]
)
def test_numbers_are_drawn_like_this(text: str, rows: int, drawn: str) -> None:
    assert [line.rstrip() for line in big(text, 58, rows)] == drawn.split("\n")


@pytest.mark.parametrize(
    ("columns", "rows", "expected"),
    [(58, 5, 5), (58, 6, 5), (58, 7, 7), (58, 9, 7), (58, 10, 10), (78, 14, 14), (118, 30, 14)],
)
def test_the_largest_size_that_fits_is_drawn(columns: int, rows: int, expected: int) -> None:
    assert len(big("27.4", columns, rows)) == expected


@pytest.mark.parametrize("text", ["00.0", "45.0", "120.0", "00", "30"])
def test_every_number_of_a_timer_is_at_least_five_rows_high_at_the_smallest_window(
    text: str,
) -> None:
    drawn = big(text, 58, 5)
    assert len(drawn) == 5
    assert all(len(line) <= 58 for line in drawn)


def test_a_number_has_the_same_width_whatever_its_digits() -> None:
    widths = {len(big(f"{tenths / 10:04.1f}", 58, 7)[0]) for tenths in range(0, 1000, 7)}
    assert len(widths) == 1


@pytest.mark.parametrize("digit", "0123456789")
@pytest.mark.parametrize("rows", [5, 7])
def test_no_two_digits_look_alike(digit: str, rows: int) -> None:
    others = [other for other in "0123456789" if other != digit]
    assert big(digit, 20, rows) not in [big(other, 20, rows) for other in others]


@pytest.mark.parametrize("text", ["", "n/a", "12,5", "[/]"])
def test_what_cannot_be_drawn_stays_text(text: str) -> None:
    assert big(text, 58, 20) == (text,)


def test_what_does_not_fit_stays_text() -> None:
    assert big("27.4", 8, 20) == ("27.4",)
    assert big("27.4", 58, 2) == ("27.4",)


def test_two_numbers_beside_each_other_are_of_one_size() -> None:
    seconds, count = big_beside(("24.3", "07"), 40, 7)
    assert len(seconds) == len(count) == 5
    assert big_beside(("24.3", "n/a"), 58, 7) == (("24.3",), ("n/a",))
