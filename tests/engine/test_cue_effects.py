"""What a repeat with a cue is said to have changed: signs by name, numbers beyond their error."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import (
    error,
    measure,
    protocol,
    session,
    test_spec,
)

from screen_tui.engine import assess
from screen_tui.engine.observe import observe
from screen_tui.engine.results import CueEffect

CUES = [{"id": cue, "say": "Do it so."} for cue in ("level", "lifted")]
LETTERS = ["h", "c", "f", "a", "g", "b", "e", "d"]


def held(value: float | None, *signs: str, **more: Any) -> dict[str, Any]:
    return {"test": "stance", "side": "left", "value": value, "signs": signs, **more}


def effects(*trials: dict[str, Any], **more: Any) -> tuple[CueEffect, ...]:
    spec = test_spec("stance", **{"cues": CUES, "errors": [error()], **more})
    return assess(protocol(spec), session(*trials)).cue_effects


def test_only_a_cue_that_was_tried_has_an_effect() -> None:
    assert effects(held(20.0)) == ()
    assert [one.cue for one in effects(held(20.0), held(20.0, cue="lifted"))] == ["lifted"]
    # Without a trial before it there is nothing it could have changed.
    assert effects(held(20.0, cue="lifted")) == ()


def test_a_repeat_stands_beside_the_plain_trials_and_is_none_of_them() -> None:
    whole = protocol(test_spec("stance", cues=CUES))
    seen = observe(whole, session(held(20.0), held(22.0, cue="level"), held(24.0)))
    stance = seen["stance", "left"]
    assert [trial.value for trial in stance.plain] == [20.0, 24.0]
    assert [trial.value for trial in stance.cued] == [22.0]
    assert list(seen) == [("stance", "left")]


def test_signs_are_named_in_order_of_the_alphabet_however_they_were_ticked() -> None:
    cured, stayed, new = ([f"{what}-{letter}" for letter in LETTERS] for what in "csn")
    (effect,) = effects(held(20.0, *cured, *stayed), held(20.0, *new, *stayed, cue="level"))
    assert effect.cured == tuple(f"c-{letter}" for letter in "abcdefgh")
    assert effect.persists == tuple(f"s-{letter}" for letter in "abcdefgh")
    assert effect.appeared == tuple(f"n-{letter}" for letter in "abcdefgh")


@pytest.mark.parametrize(
    ("better", "after", "verdict"),
    [
        # Standard error 2, so 2.772 * 2 = 5.544 is the least change that is one.
        ("higher", 25.5, "within error"),
        ("higher", 25.6, "better"),
        ("higher", 14.4, "worse"),
        ("higher", 14.5, "within error"),
        ("higher", 20.0, "within error"),
        ("lower", 25.6, "worse"),
        ("lower", 14.4, "better"),
    ],
)
def test_a_change_is_one_beyond_its_error_and_better_the_way_the_measure_says(
    better: str, after: float, verdict: str
) -> None:
    (effect,) = effects(held(20.0), held(after, cue="level"), measures=[measure(better=better)])
    assert [change.verdict for change in effect.changes] == [verdict]


def test_a_change_without_a_known_error_is_not_judged() -> None:
    (effect,) = effects(held(20.0), held(40.0, cue="level"), errors=[])
    (change,) = effect.changes
    assert (change.before, change.after, change.error) == (20.0, 40.0, None)
    assert change.verdict == "not judged"


@pytest.mark.parametrize("other", [error("visits"), error(to_age=64), error(sex="male")])
def test_a_change_within_a_visit_needs_an_error_of_trials_of_such_a_person(
    other: dict[str, Any],
) -> None:
    # The patient is a woman of 65.
    (effect,) = effects(held(20.0), held(40.0, cue="level"), errors=[other])
    assert [change.verdict for change in effect.changes] == ["not judged"]


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ({"value": None}, {}),
        ({"ended": "pain"}, {}),
        ({}, {"value": None}),
        ({}, {"ended": "pain"}),
    ],
)
def test_a_number_missing_or_given_in_pain_has_not_changed(
    before: dict[str, Any], after: dict[str, Any]
) -> None:
    (effect,) = effects(held(20.0) | before, held(40.0, cue="level") | after)
    assert effect.changes == ()
