"""What may be added to a finished screen, from what was typed."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from support.small_protocol import session as session_of
from support.small_protocol import test_spec as spec_of

from screen_tui.errors import EntryRefusedError
from screen_tui.session.model import Session, Trial
from screen_tui.trial.addendum import corrected_value, make_addendum, replaced_by_it, trial_at

WRITTEN = datetime(2026, 3, 3, 8, 10, tzinfo=UTC)
HOLD = spec_of("stance")
MEASURED = {"id": "value", "label": "Degrees", "minimum": 0, "maximum": 90, "hint": "0 is straight"}
BEND = spec_of(
    "bend",
    timer={"kind": "measure", "fields": [MEASURED]},
    plausible={"minimum": 0, "maximum": 90},
)
KNEE = spec_of("knee", timer={"kind": "measure", "fields": [MEASURED | {"id": "passive_deg"}]})


def finished(**more: Any) -> Session:
    trials = ({"test": "stance", "side": "left", "value": value} for value in (6.2, 9.4))
    return session_of(*trials, finished=WRITTEN, **more)


def made(**more: Any) -> Any:
    return make_addendum(more.pop("session", finished()), WRITTEN, "read again", **more)


def test_what_was_typed_becomes_an_addendum() -> None:
    one = made(trial=2, value=5.8, text="  by the other watch ")
    assert (one.written, one.reason, one.text) == (WRITTEN, "read again", "by the other watch")
    assert (one.trial, one.value, one.struck_out) == (2, 5.8, False)
    assert made(trial=1, strike=True).struck_out


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"trial": 3, "value": 1.0}, "There is no trial 3: the session has 2"),
        ({"trial": 0, "strike": True}, "There is no trial 0"),
        ({"trial": -1, "strike": True}, "There is no trial -1"),
        ({}, "an addendum needs a text"),
        ({"strike": True}, "is missing"),
        ({"text": "a\x1bb"}, "the text holds the control character"),
        ({"text": "a" * 401}, "the text must have at most 400 characters"),
        ({"trial": 1, "value": 5000.0}, "the value must be at most 3600"),
    ],
)
def test_what_cannot_be_added_is_refused_in_words(more: dict[str, Any], told: str) -> None:
    with pytest.raises(EntryRefusedError, match=told):
        made(**more)


def test_a_reason_of_blanks_is_none() -> None:
    with pytest.raises(EntryRefusedError, match="the reason must not be empty"):
        make_addendum(finished(), WRITTEN, "  ", text="windy")


def test_what_is_struck_out_is_not_struck_out_again() -> None:
    before = {"written": WRITTEN, "reason": "helped", "trial": 1, "struck_out": True}
    with pytest.raises(EntryRefusedError, match="Trial 1 is void already: helped"):
        made(session=finished(addenda=[before]), trial=1, strike=True)


def test_the_value_of_a_void_trial_is_not_corrected() -> None:
    before = {"written": WRITTEN, "reason": "helped", "trial": 1, "struck_out": True}
    with pytest.raises(EntryRefusedError, match="Trial 1 is void, so its value does not count"):
        made(session=finished(addenda=[before]), trial=1, value=5.0)


def test_a_second_change_of_a_trial_says_which_it_replaces() -> None:
    about = {"written": WRITTEN, "reason": "late", "trial": 2}
    twice = finished(addenda=[about | {"value": 5.8}, about | {"text": "windy"}])
    assert replaced_by_it(twice, 2) == "It replaces what addendum 1 says of trial 2."
    assert replaced_by_it(twice, 1) == ""


def test_a_trial_is_found_as_earlier_addenda_left_it() -> None:
    before = {"written": WRITTEN, "reason": "late", "trial": 2, "value": 5.8}
    assert trial_at(finished(addenda=[before]), 2).value == 5.8


def test_a_value_is_rounded_as_the_test_records_it() -> None:
    trial = Trial(test="stance", side="left", value=6.2)
    assert corrected_value(HOLD, trial, "5,84", "late") == 5.8


def test_a_number_that_was_read_off_is_corrected_within_its_bounds() -> None:
    trial = Trial(test="bend", side="left", value=6)
    assert corrected_value(BEND, trial, "12", "misread") == 12
    for typed, told in (("91", "cannot be"), ("", "not a number"), ("far", "not a number")):
        with pytest.raises(EntryRefusedError, match=told):
            corrected_value(BEND, trial, typed, "misread")


@pytest.mark.parametrize(
    ("spec", "typed", "told"),
    [
        (HOLD, "soon", "soon is not a number"),
        (HOLD, "46", "46 is outside 0 to 45"),
        (HOLD, "6.24", "It is 6.2 already."),
        (KNEE, "3", "knee has no one value: make the trial void"),
        (spec_of("step", timer={"kind": "quality", "repetitions": 3}, measures=[]), "3", "no num"),
    ],
)
def test_what_the_test_cannot_give_is_refused(spec: Any, typed: str, told: str) -> None:
    with pytest.raises(EntryRefusedError, match=told):
        corrected_value(spec, Trial(test=spec.id, side="left", value=6.2), typed, "late")
