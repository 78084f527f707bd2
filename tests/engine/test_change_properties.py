"""What must hold of any two visits under the shipped protocol."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from support.thorough import examples
from test_session_properties import AGES, PROTOCOL, TRIALS, made

from screen_tui.engine.change import compare

TURNED = {"better": "worse", "worse": "better"}


@settings(max_examples=examples(100))
@given(TRIALS, TRIALS, AGES)
def test_swapping_two_visits_turns_every_change_round(
    then: list[dict[str, Any]], now: list[dict[str, Any]], age: int
) -> None:
    # The first visit's trials are among the second's in half the cases by chance alone: add them.
    first, second = made(then, age), made([*now, *then], age)
    forth, back = compare(PROTOCOL, first, second), compare(PROTOCOL, second, first)
    assert len(forth) == len(back)
    for one, turned in zip(forth, back, strict=True):
        assert (one.test, one.side, one.measure) == (turned.test, turned.side, turned.measure)
        assert (one.then, one.now) == (turned.now, turned.then)
        assert turned.verdict == TURNED.get(one.verdict, one.verdict)
        assert (one.error, one.disagrees) == (turned.error, turned.disagrees)
        assert (one.at_least, bool(one.why_not)) == (turned.at_least, bool(turned.why_not))
        if one.difference is None:
            assert turned.difference is None
        else:
            assert turned.difference == pytest.approx(-one.difference)


@settings(max_examples=examples(100))
@given(TRIALS, AGES)
def test_a_visit_held_against_itself_has_not_changed(
    trials: list[dict[str, Any]], age: int
) -> None:
    visit = made(trials, age)
    for change in compare(PROTOCOL, visit, visit):
        assert change.verdict not in ("better", "worse")
        assert change.difference in (None, 0.0)
        assert change.disagrees is None


@settings(max_examples=examples(60))
@given(TRIALS, TRIALS, AGES)
def test_what_cannot_be_compared_says_why_and_what_can_has_a_difference(
    then: list[dict[str, Any]], now: list[dict[str, Any]], age: int
) -> None:
    for change in compare(PROTOCOL, made(then, age), made([*then, *now], age)):
        barred = change.verdict == "not comparable"
        assert bool(change.why_not) == barred
        assert (change.difference is None) == barred
