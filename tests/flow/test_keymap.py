"""The table of keys: one line changes a key, and what is printed of keys comes from the table."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from support.trial_hands import TrialHands
from trial_driving import kept, press, trial_for

from screen_tui.guides import key_table
from screen_tui.trial.keymap import KEYMAP, PROMPTED, TIMED, Action, Keymap

README = Path(__file__).parents[2] / "README.md"


def with_line(kind: str, action: Action, **changes: object) -> TrialHands:
    """A trial with another line in its copy of the table."""
    bindings = {**KEYMAP.bindings, action: replace(KEYMAP.bindings[action], **changes)}
    hands = trial_for(kind)
    return replace(hands, state=replace(hands.state, keymap=Keymap(bindings)))


def with_keys(kind: str, action: Action, *keys: str) -> TrialHands:
    return with_line(kind, action, keys=keys)


def test_the_key_table_of_the_readme_is_the_table() -> None:
    table = key_table()
    assert f"\n{table}\n" in README.read_text(encoding="utf-8")
    rows = table.splitlines()[2:]
    assert len(rows) == len(KEYMAP.help())
    for row, (keys, does) in zip(rows, KEYMAP.help(), strict=True):
        assert row.endswith(f" | {does} |")
        assert row.replace("`", "").startswith(f"| {keys} |")


def test_a_trial_obeys_another_key_for_time() -> None:
    hands = press(with_keys("hold", Action.TIME, "z"), ("space", 90.0), ("z", 100.0))
    assert hands.view(100.5).state == "RUNNING"
    assert ("z", "stop") in hands.view(100.5).keys
    assert kept(press(hands, ("z", 107.5), ("enter", 109.0))).value == 7.5


def test_a_trial_obeys_other_keys_for_signs_and_prints_them() -> None:
    hands = press(with_keys("hold", Action.SIGN, *"abcde"), ("1", 98.0), ("e", 99.0))
    assert hands.input.signs == ("hands-used",)
    assert [row.key for row in hands.view(100.0).signs] == ["a", "e"]
    assert ("a e", "signs") in hands.view(100.0).keys


@pytest.mark.parametrize(
    ("places", "printed"),
    [((0,), "1"), (range(9), "1-9"), ((0, 1, 2, 8), "1-3 9"), ((1, 4, 5), "2 5-6"), ((), "")],
)
def test_keys_in_a_row_are_printed_as_one(places: tuple[int, ...], printed: str) -> None:
    assert KEYMAP.keys(Action.SIGN, places) == printed


def test_a_trial_obeys_another_key_for_pain_and_its_scores() -> None:
    hands = with_keys("hold", Action.PAIN, "z")
    assert press(hands, ("p", 98.0), ("7", 99.0)).input.pain is None
    assert press(hands, ("z", 98.0), ("7", 99.0)).input.pain == 7
    scores = with_keys("hold", Action.PAIN_SCORE, *"abcdefghijk")
    asked = press(scores, ("p", 98.0))
    assert [row.key for row in asked.view(99.0).choices] == [*"abcdefghijk"]
    assert press(asked, ("k", 100.0)).input.pain == 10


def test_a_number_typed_is_text_whatever_a_key_does_elsewhere() -> None:
    hands = with_keys("measure", Action.WHY_ENDED, "5")
    assert press(hands, ("5", 100.0)).entry.texts == ("5", "")


OF_THE_TRIAL = {*TIMED, *PROMPTED.values(), Action.TYPE, Action.ERASE}
OF_STAIRS = {Action.MORE_STEPS, Action.FEWER_STEPS}
OF_TWO_LEGS = {Action.SIGN_LEG}
"""A test of both legs has no other leg to go to."""


@pytest.mark.parametrize(
    "actions", [{*TIMED}, {*Action} - OF_THE_TRIAL - OF_STAIRS - OF_TWO_LEGS, OF_STAIRS]
)
def test_no_key_means_two_things_at_the_same_time(actions: set[Action]) -> None:
    for each in actions:
        for key in KEYMAP.binding(each).keys:
            assert KEYMAP.actions(key).keys() & actions == {each}, key


def test_a_key_that_repeats_in_the_table_acts_each_time_it_comes() -> None:
    hands = trial_for("steps")
    steps = hands.input.steps
    for nth in range(3):
        hands = hands.key("+", "+", 100.0 + nth / 30, 100.0 + nth / 30)
    assert hands.input.steps == steps + 3
    once = with_line("steps", Action.MORE_STEPS, repeats=False)
    for nth in range(3):
        once = once.key("+", "+", 100.0 + nth / 30, 100.0 + nth / 30)
    assert once.input.steps == steps + 1
