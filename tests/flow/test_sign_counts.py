"""A sign that is seen again is counted; only Backspace takes a press away."""

from __future__ import annotations

from trial_driving import kept, press, trial_for

from screen_tui.session.model import MOST_SEEN
from screen_tui.trial.actions import act
from screen_tui.trial.keymap import Action
from screen_tui.trial.record import under_way, worth_saving


def test_a_second_press_counts() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("1", 102.0), ("5", 104.0), ("1", 106.0))
    assert [row.count for row in state.view(107.0).signs] == [2, 1]
    trial = kept(press(state, ("1", 108.0), ("space", 110.0), ("enter", 112.0)))
    assert trial.signs == ("pelvis-drops", "hands-used")
    assert trial.sign_counts == {"pelvis-drops": 3}


def test_the_time_of_a_sign_is_that_of_its_first_press() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("1", 102.0), ("1", 106.0))
    assert kept(press(state, ("space", 110.0), ("enter", 112.0))).sign_times == {
        "pelvis-drops": 2.0
    }


def test_only_backspace_takes_the_last_press_away() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("1", 102.0), ("1", 104.0))
    once = press(state, ("backspace", 106.0))
    assert (once.input.signs, once.input.sign_counts) == (("pelvis-drops",), {})
    assert dict(once.input.sign_times) == {"pelvis-drops": 2.0}
    none = press(once, ("backspace", 108.0))
    assert (none.input.signs, none.input.sign_times) == ((), ())


def test_a_sign_that_is_held_counts_once() -> None:
    state = press(trial_for("hold"), ("space", 100.0))
    for nth in range(30):
        state = state.key("1", "1", 102.0 + nth / 30, 102.0 + nth / 30)
    state = press(state, ("5", 105.0))
    assert [row.count for row in state.view(106.0).signs] == [1, 1]


def test_the_leg_is_that_of_the_sign_pressed_last() -> None:
    state = press(
        trial_for("walk", sides="both"),
        ("space", 100.0), ("1", 101.0), ("5", 103.0), ("1", 105.0), ("right", 107.0),
    )  # fmt: skip
    assert dict(state.input.sign_legs) == {"pelvis-drops": "right"}


def test_a_count_outlives_a_kill_and_is_worth_a_write() -> None:
    once = press(trial_for("hold"), ("space", 100.0), ("1", 102.0))
    twice = press(once, ("1", 104.0))
    assert worth_saving(once.state) != worth_saving(twice.state)
    record = under_way(twice.state)
    assert record is not None
    assert record.sign_counts == {"pelvis-drops": 2}


def test_more_presses_than_a_file_holds_are_not_lost_with_the_trial() -> None:
    state = press(trial_for("hold"), ("space", 100.0)).state
    for nth in range(MOST_SEEN + 5):
        state = act(state, Action.SIGN, 0, 101.0 + nth)
    trial = under_way(state)
    assert trial is not None
    assert trial.sign_counts == {"pelvis-drops": MOST_SEEN}
