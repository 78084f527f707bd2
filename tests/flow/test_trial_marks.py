"""Watched throughout, and the leg of a sign in a test of both legs."""

from __future__ import annotations

import pytest
from trial_driving import kept, press, trial_for

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.report.words import marked_words
from screen_tui.session.model import Trial
from screen_tui.trial.record import under_way

SHIPPED = load_protocol([protocols_folder()])


def test_nought_says_that_what_is_not_marked_was_not_there() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("0", 102.0))
    assert state.view(103.0).watched == "watched, clean"
    assert kept(press(state, ("space", 105.0), ("enter", 107.0))).watched
    undone = press(state, ("0", 104.0))
    assert undone.view(105.0).watched == ""
    assert not press(state, ("backspace", 104.0)).input.watched


def test_watched_and_clean_is_saved_without_a_doubt() -> None:
    doubted = press(trial_for("quality"), ("enter", 100.0))
    assert doubted.record is None
    assert "no sign seen" in doubted.view(101.0).question
    record = kept(press(trial_for("quality"), ("0", 100.0), ("enter", 102.0)))
    assert (record.watched, record.signs) == (True, ())


def test_a_nought_that_is_typed_is_a_number() -> None:
    state = press(trial_for("measure"), ("1", 100.0), ("0", 101.0))
    assert state.entry.texts[0] == "10"
    assert not state.input.watched


@pytest.mark.parametrize(("presses", "leg"), [(1, "left"), (2, "right"), (3, "both"), (4, None)])
def test_v_says_the_leg_of_the_last_sign_the_sore_one_first(presses: int, leg: str | None) -> None:
    state = press(trial_for("walk", sides="both"), ("space", 100.0), ("1", 101.0), ("5", 102.0))
    state = press(state, *(("v", 104.0 + 2 * n) for n in range(presses)))
    assert dict(state.input.sign_legs) == ({} if leg is None else {"hands-used": leg})
    assert [row.leg for row in state.view(120.0).signs] == ["", leg or ""]


def test_an_arrow_says_the_leg_at_once_and_it_goes_with_its_sign() -> None:
    state = press(trial_for("walk", sides="both"), ("space", 100.0), ("1", 101.0), ("right", 102.0))
    assert kept(press(state, ("space", 105.0), ("enter", 107.0))).sign_legs == {
        "pelvis-drops": "right"
    }
    assert ("←→", "leg") in state.view(104.0).keys
    assert press(state, *[("backspace", 104.0 + 2 * n) for n in range(2)]).input.sign_legs == ()


def test_a_test_of_one_leg_asks_no_leg() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("1", 101.0), ("v", 103.0))
    assert state.input.sign_legs == ()
    assert ("←→", "leg") not in state.view(104.0).keys


def test_the_leg_and_that_it_was_watched_outlive_a_kill() -> None:
    state = press(
        trial_for("walk", sides="both"), ("space", 100.0), ("1", 101.0), ("v", 103.0), ("0", 105.0)
    )
    record = under_way(state)
    assert record is not None
    assert (record.sign_legs, record.watched) == ({"pelvis-drops": "left"}, True)


@pytest.mark.parametrize(
    ("sign", "leg", "words"),
    [
        ("pelvis-drops", "left", "pelvic drop, left"),
        ("shifts-to-one-side", "right", "uneven loading, spares the right"),
        ("trunk-leans", "both", "trunk lean, both legs"),
        ("trunk-leans", None, "trunk lean"),
    ],
)
def test_the_leg_of_a_sign_is_in_the_note(sign: str, leg: str | None, words: str) -> None:
    trial = Trial(test="walk-4m", signs=(sign,), sign_legs={sign: leg} if leg else {})
    assert marked_words(SHIPPED, trial, sign) == words
