"""Numbers that are typed: taken as they come, refused when they cannot be."""

from __future__ import annotations

import pytest
from support.trial_hands import TrialHands
from trial_driving import kept, trial_for

from screen_tui.engine.observe import contradiction


def type_keys(state: TrialHands, keys: list[str], start: float = 100.0) -> TrialHands:
    """Type as fast as a person does, five keys a second, and wait a moment."""
    t = start
    for key in keys:
        t += 0.2
        state = state.key(key, key if len(key) == 1 else None, t, t).tick(t + 0.1)
    return state.tick(t + 0.5)


def test_two_numbers_are_typed_one_after_the_other_and_saved() -> None:
    state = trial_for("measure")
    assert state.view(0.0).state == "TYPE NUMBERS"
    trial = kept(type_keys(state, ["5", "enter", "1", "1", "enter", "enter"]))
    assert (trial.passive_deg, trial.active_deg, trial.value) == (5, 11, None)
    assert (trial.side, trial.signs) == ("left", ())


def test_negative_numbers_and_decimals_with_a_comma_are_accepted() -> None:
    state = type_keys(
        trial_for("measure"), ["minus", "2", "comma", "5", "enter", "0", *2 * ["enter"]]
    )
    assert (kept(state).passive_deg, kept(state).active_deg) == (-2.5, 0)


@pytest.mark.parametrize(("typed", "says"), [("75", "-20 to 60"), ("-", "not a number")])
def test_an_impossible_number_is_refused_at_its_field(typed: str, says: str) -> None:
    state = type_keys(trial_for("measure"), [*typed, "enter"])
    seen = state.view(110.0)
    assert says in seen.error
    assert seen.fields[0].typed == typed
    assert seen.fields[0].current
    corrected = type_keys(state, ["backspace", "backspace", "5", "enter"], start=120.0)
    assert corrected.view(130.0).error == ""
    assert corrected.view(130.0).fields[1].current


def test_a_field_left_with_tab_is_still_checked_before_keeping() -> None:
    state = type_keys(trial_for("measure"), ["7", "5", "tab"])
    assert "-20 to 60" in state.view(110.0).fields[0].error
    state = type_keys(state, ["9", "enter", "enter"], start=120.0)
    assert state.record is None
    assert state.view(130.0).fields[0].current
    assert "-20 to 60" in state.view(130.0).error


def test_active_straighter_than_passive_is_questioned_once_as_it_will_be_judged() -> None:
    state = type_keys(trial_for("measure"), ["5", "enter", "1", "enter", "enter"])
    assert state.record is None
    assert "Active extension is 4 degrees better than passive." in state.view(110.0).question
    trial = kept(type_keys(state, ["enter"], start=120.0))
    assert trial.active_deg == 1
    assert contradiction(state.spec, trial)
    within_error = kept(type_keys(trial_for("measure"), ["5", "enter", "2", "enter", "enter"]))
    assert not contradiction(state.spec, within_error)


def test_a_questioned_entry_that_is_corrected_is_not_questioned() -> None:
    state = type_keys(trial_for("measure"), ["5", "enter", "1", "enter", "enter"])
    state = type_keys(state, ["up", "2", "0", "enter", "enter"], start=120.0)
    assert (kept(state).passive_deg, kept(state).active_deg) == (5, 20)


def test_what_is_typed_in_a_field_come_back_to_replaces_what_stood_there() -> None:
    state = type_keys(trial_for("measure"), ["1", "2", "enter", "up", "4", "5"])
    assert state.entry.texts == ("45", "")
    erased = type_keys(state, ["down", "up", "backspace", "0"], start=120.0)
    assert erased.entry.texts == ("40", "")


def test_space_adds_one_where_repetitions_are_counted() -> None:
    raises = {
        "id": "value", "label": "Raises", "minimum": 0, "maximum": 60, "hint": "full ones",
        "whole": True, "counted": True,
    }  # fmt: skip
    state = trial_for("measure", timer={"kind": "measure", "fields": [raises]}, signs=[])
    for n in range(12):
        state = state.key("space", " ", 100.0 + 2 * n, 100.0 + 2 * n).tick(100.5 + 2 * n)
    assert state.view(130.0).big == "12"
    assert kept(type_keys(state, ["enter"], start=130.0)).value == 12
    assert type_keys(trial_for("measure"), ["space"]).entry.texts == ("", "")


def test_equal_numbers_are_no_contradiction() -> None:
    assert kept(type_keys(trial_for("measure"), ["5", "enter", "5", "enter", "enter"]))


def test_a_field_left_open_is_questioned_and_all_open_refused() -> None:
    state = type_keys(trial_for("measure"), ["5", "enter", "enter", "enter"])
    assert "Left open: Active" in state.view(110.0).question
    trial = kept(type_keys(state, ["enter"], start=120.0))
    assert (trial.passive_deg, trial.active_deg) == (5, None)
    empty = type_keys(trial_for("measure"), ["enter", "enter", "enter"])
    assert empty.record is None
    assert "at least one number" in empty.view(110.0).error


def test_digits_are_signs_on_the_place_behind_the_numbers() -> None:
    state = type_keys(trial_for("measure"), ["5", "down", "9", "tab", "1"])
    seen = state.view(110.0)
    assert seen.signs_current
    assert seen.signs[0].on
    assert [field.typed for field in seen.fields] == ["5", "9"]
    assert kept(type_keys(state, ["enter"], start=120.0)).signs == ("pelvis-drops",)


def test_without_signs_enter_on_the_last_number_keeps() -> None:
    assert kept(type_keys(trial_for("measure", signs=[]), ["5", "enter", "9", "enter"]))


def test_pain_is_noted_from_within_a_number() -> None:
    state = type_keys(trial_for("measure"), ["5", "p", "3", "enter", "9", "enter", "enter"])
    assert (kept(state).pain, kept(state).passive_deg) == (3, 5)


def test_a_single_value_is_saved_as_the_value() -> None:
    field = {"id": "value", "label": "Girth", "minimum": 20, "maximum": 80, "hint": "cm"}
    state = trial_for("measure", timer={"kind": "measure", "fields": [field]}, signs=[])
    trial = kept(type_keys(state, ["4", "1", ".", "5", "enter"]))
    assert (trial.value, trial.raw_value) == (41.5, 41.5)


def test_a_grade_is_chosen_by_its_number() -> None:
    state = trial_for("choice", signs=[])
    (field,) = state.view(1.0).fields
    assert (field.label, field.hint) == ("Grade", "0 none, 1 trace, 2 1+")
    trial = kept(type_keys(state, ["2", "enter"]))
    assert trial.value == 2


@pytest.mark.parametrize("typed", ["3", "-1", "1.5", "x"])
def test_a_number_that_is_no_grade_is_refused(typed: str) -> None:
    state = type_keys(trial_for("choice", signs=[]), [*typed, "enter"])
    assert state.record is None
    assert state.view(110.0).error


def test_numbers_the_session_cannot_keep_are_refused_with_a_sentence() -> None:
    field = {"id": "passive_deg", "label": "Passive", "minimum": -90, "maximum": 180, "hint": "deg"}
    state = trial_for("measure", timer={"kind": "measure", "fields": [field]}, signs=[])
    state = type_keys(state, ["1", "5", "0", "enter"])
    assert state.record is None
    assert "cannot be saved" in state.view(110.0).error
    assert state.view(110.0).fields[0].typed == "150"


def test_an_enter_that_waits_at_its_gate_comes_before_what_is_typed_after_it() -> None:
    state = trial_for("measure").saw("enter", 10.0)
    for key, t in (("4", 10.2), ("enter", 10.5), ("7", 10.55)):
        character = None if key == "enter" else key
        state = state.key(key, character, t, t)
    assert state.entry.texts == ("4", "7")
