"""Kept trials changed afterwards: what stood there stays in the record."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import test_spec as spec_of

from screen_tui.errors import EntryRefusedError
from screen_tui.session.model import Trial
from screen_tui.trial.numbers import read_number
from screen_tui.trial.record import (
    corrected,
    noted,
    restored,
    struck_out,
    why_no_correction,
)

HOLD = spec_of("stance")
COUNT = spec_of(
    "rises",
    timer={
        "kind": "count-in-time",
        "window_s": 30,
        "min_split_s": 0.5,
        "half_question": "More than half way up?",
    },
    plausible={"minimum": 0, "maximum": 45},
    measures=[
        {
            "id": "value",
            "label": "Rises",
            "unit": "rises",
            "decimals": 0,
            "better": "higher",
            "taken_from": "value",
            "over_trials": "best",
        }
    ],
)
WATCHED = spec_of("step", timer={"kind": "quality", "repetitions": 3}, measures=[])


def trial(**more: Any) -> Trial:
    return Trial(
        **({"test": "stance", "value": 8.4, "raw_value": 8.412, "ended": "foot-down"} | more)
    )


def test_a_corrected_trial_keeps_what_was_timed_and_what_stood_there() -> None:
    found = corrected(HOLD, trial(), "6,25", "key pressed too early or too late")
    assert (found.value, found.corrected_from, found.raw_value) == (6.3, 8.4, 8.412)
    assert found.correction == "key pressed too early or too late"
    assert found.ended == "foot-down"


def test_a_second_correction_still_tells_the_first_value() -> None:
    once = corrected(HOLD, trial(), "6", "typing mistake")
    twice = corrected(HOLD, once, "7", "counted by eye")
    assert (twice.value, twice.corrected_from, twice.correction) == (7, 8.4, "counted by eye")


def test_a_trial_without_a_value_can_be_given_one() -> None:
    found = corrected(HOLD, trial(value=None), "6", "timed with another watch")
    assert (found.value, found.corrected_from) == (6, None)


def test_a_hold_is_capped_exactly_when_it_lasted_its_full_time() -> None:
    assert corrected(HOLD, trial(value=45, ended="cap"), "30", "x").ended == ""
    assert corrected(HOLD, trial(), "45", "x").ended == "cap"
    assert corrected(HOLD, trial(value=45, ended="cap"), "45", "x").ended == "cap"


@pytest.mark.parametrize(
    ("spec", "typed", "told"),
    [
        (HOLD, "soon", "soon is not a number"),
        (HOLD, " ", "Nothing is not a number"),
        (HOLD, "4000", "must be at most 3600"),
        (COUNT, "11.5", "11.5 is not a whole number"),
        (WATCHED, "3", "has no number"),
    ],
)
def test_what_cannot_be_a_value_is_refused_in_words(spec: Any, typed: str, told: str) -> None:
    with pytest.raises(EntryRefusedError, match=told):
        corrected(spec, trial(test=spec.id), typed, "typing mistake")


def test_a_count_that_is_0_by_rule_stays_0() -> None:
    hands = trial(test="rises", value=0, signs=("hands-used",))
    assert "0 by the published rule" in why_no_correction(COUNT, hands)
    assert why_no_correction(COUNT, trial(test="rises", value=9)) == ""


def test_typed_numbers_are_struck_out_and_typed_again() -> None:
    field = {
        "id": "value",
        "label": "Degrees",
        "minimum": 0,
        "maximum": 90,
        "hint": "0 is straight",
    }
    bend = spec_of("bend", timer={"kind": "measure", "fields": [field]})
    assert "type them again" in why_no_correction(bend, trial(test="bend"))


def test_a_trial_is_struck_out_and_counted_again_without_losing_either_fact() -> None:
    gone = struck_out(trial(note="left shoe"), "disturbed")
    assert not gone.counts
    back = restored(gone)
    assert back.counts
    assert back.note == "left shoe; was void: disturbed; counts again"
    assert back.value == 8.4


def test_words_are_added_to_a_note_until_it_is_full() -> None:
    assert noted(trial(), " swayed ").note == "swayed"
    assert noted(noted(trial(), "swayed"), "no shoes").note == "swayed; no shoes"
    with pytest.raises(EntryRefusedError, match="at most 400 characters"):
        noted(trial(note="a" * 399), "bb")
    with pytest.raises(EntryRefusedError, match="control character"):
        noted(trial(), "a\x1b[2Jb")


@pytest.mark.parametrize(
    ("typed", "number"),
    [("8", 8), ("8.4", 8.4), ("8,4", 8.4), (".5", 0.5), ("-3", -3), ("8.", 8)],
)
def test_numbers_are_read_with_point_or_comma(typed: str, number: float) -> None:
    assert read_number(typed) == number


@pytest.mark.parametrize("typed", ["", "-", ".", "1e3", "nan", "8 4", "٣", "8.4.1", "+3"])
def test_what_is_no_number_is_none(typed: str) -> None:
    assert read_number(typed) is None
