"""The grid of signs on the page of a test: a keypad that keeps its place."""

from __future__ import annotations

import pytest
from support.trial_hands import TrialHands

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.tui.drawing.rows import plain, row_cells
from screen_tui.tui.drawing.test import sign_rows

PROTOCOL = load_protocol([protocols_folder()])
WIDTHS = (58, 78)
"""What a window of 60 or of 80 columns leaves."""
WITH_SIGNS = [spec for spec in PROTOCOL.tests if spec.signs]


def ready(spec: TestSpec) -> TrialHands:
    hands = TrialHands.at(spec, "left" if spec.sided else None, PROTOCOL.signs)
    for nth, _ in enumerate(hands.entry.fields):
        hands = hands.key("down", None, 10.0 + nth, 10.0 + nth)
    return hands


def drawn(hands: TrialHands, width: int) -> str:
    return plain(sign_rows(hands.view(500.0), width))


def places(text: str) -> dict[int, tuple[int, int]]:
    """The row and column of each digit."""
    return {
        int(letter): (at, column)
        for at, line in enumerate(text.split("\n"))
        for column, letter in enumerate(line)
        if letter.isdigit() and line[:column].endswith(" ")
    }


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("spec", WITH_SIGNS, ids=lambda spec: spec.id)
def test_the_digits_lie_as_on_a_keypad(spec: TestSpec, width: int) -> None:
    found = places(drawn(ready(spec), width))
    assert sorted(found) == sorted(PROTOCOL.sign(sign).digit for sign in spec.signs)
    for one, (row, column) in found.items():
        for other, (other_row, other_column) in found.items():
            assert (row < other_row) == ((one - 1) // 3 < (other - 1) // 3)
            assert (column < other_column) == ((one - 1) % 3 < (other - 1) % 3)


@pytest.mark.parametrize("width", [30, *WIDTHS])
@pytest.mark.parametrize("spec", WITH_SIGNS, ids=lambda spec: spec.id)
def test_nothing_moves_when_signs_are_marked(spec: TestSpec, width: int) -> None:
    hands = ready(spec)
    before = drawn(hands, width)
    for nth, sign in enumerate(hands.signs):
        t = 100.0 + 4 * nth
        hands = hands.key(str(sign.digit), str(sign.digit), t, t)
        hands = hands.key("v", "v", t + 2, t + 2)
        after = drawn(hands, width)
        assert places(after) == places(before)
        assert f"{sign.digit} {sign.label[:4].upper()}" in after
        assert all(row_cells(line) <= width for line in sign_rows(hands.view(500.0), width))


def test_a_narrow_window_has_them_one_after_the_other() -> None:
    text = drawn(ready(PROTOCOL.test("timed-up-and-go")), 30)
    assert [line.split()[0] for line in text.split("\n")] == [*"23456789"]


@pytest.mark.parametrize("width", WIDTHS)
def test_a_sign_seen_again_shows_how_often(width: int) -> None:
    hands = ready(PROTOCOL.test("step-down"))
    for nth, key in enumerate("1114"):
        hands = hands.key(key, key, 100.0 + 4 * nth, 100.0 + 4 * nth)
    text = drawn(hands.tick(200.0), width)
    drop, arch = (PROTOCOL.sign(sign).label.upper() for sign in ("pelvis-drops", "arch-collapses"))
    assert f"1 {drop} x3 " in text
    assert f"4 {arch}  " in text


def test_where_a_label_and_its_marks_have_no_room_the_label_gives_way() -> None:
    hands = ready(PROTOCOL.test("chair-stands-30s"))
    for nth, key in enumerate(["7", "7", "v"]):
        hands = hands.key(key, key, 100.0 + 4 * nth, 100.0 + 4 * nth)
    line = next(one for one in drawn(hands.tick(200.0), 58).split("\n") if one.startswith(" 7"))
    label = PROTOCOL.sign("shifts-to-one-side").label.upper()
    assert f" 7 {label[:8]}" in line
    assert "… x2 <L" in line
