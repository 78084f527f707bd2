"""Which later tests an earlier result withholds, on which leg, and for whom."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import line, measure, protocol, session, test_spec

from screen_tui.engine.conditions import Seen
from screen_tui.engine.safety import closed_gates
from screen_tui.session.model import AGAINST_TESTING, SKIP_REASONS, speaks_against_harder_tests

REASON = "cannot stand on that leg"
POOR = {"measure": "value", "at_most": 3.0}
SHORT = {"measure": "value", "standing": "short of the line"}


def closed(
    withhold: str, after: str, *trials: dict[str, Any], **more: Any
) -> dict[str | None, str]:
    """The sides on which the one gate closes; ``one`` and ``two`` are the legs a test takes."""
    gate = {
        "withhold": withhold,
        "after": after,
        "when": more.pop("when", POOR),
        "reason": REASON,
        "source": "judgement",
    }
    lines = [line("value", "at least", 10.0)]
    tests = [
        test_spec("one-first", lines=lines),
        test_spec("two-first", sides="both", lines=lines),
        test_spec("one", load="one-leg"),
        test_spec("two", load="one-leg", sides="both"),
    ]
    found = closed_gates(Seen.of(protocol(*tests, gates=[gate]), session(*trials, **more)))
    assert {test for test, _ in found} <= {withhold}
    return {side: reason for (_, side), reason in found.items()}


def left(test: str = "one-first", value: float = 2.0, **more: Any) -> dict[str, Any]:
    return {"test": test, "side": "left", "value": value, **more}


def test_a_leg_closes_the_gate_of_that_leg_and_of_what_both_do() -> None:
    assert closed("one", "one-first", left()) == {"left": REASON}
    assert closed("two", "one-first", left()) == {None: REASON}


def test_what_both_legs_do_closes_the_gate_of_both() -> None:
    both = {"test": "two-first", "value": 2.0}
    assert closed("one", "two-first", both) == {"left": REASON, "right": REASON}
    assert closed("two", "two-first", both) == {None: REASON}


def test_only_the_test_named_by_the_gate_closes_it() -> None:
    assert closed("one", "one-first", {"test": "two-first", "value": 2.0}) == {}
    assert closed("one", "two-first", left()) == {}


@pytest.mark.parametrize(
    ("when", "closes"),
    [
        (POOR, True),
        (SHORT, True),
        ({"measure": "value", "standing": "meets"}, False),
        ({"measure": "value", "at_least": 3.0}, False),
        ({"signs_any": ["unsteady"]}, True),
    ],
)
def test_pain_closes_a_gate_that_waits_for_a_poor_result_and_no_other(
    when: dict[str, Any], closes: bool
) -> None:
    found = closed("one", "one-first", left(value=20.0, ended="pain"), when=when)
    told = "Pain limited the one-first, which comes before it."
    assert found == ({"left": told} if closes else {})


def skip(test: str = "one-first", reason: str = "not safe today", **more: Any) -> dict[str, Any]:
    return {"test": test, "reason": reason, **more}


@pytest.mark.parametrize(
    ("reason", "closes"),
    [
        ("not safe today", True),
        ("too painful", True),
        ("too tired", True),
        ("felt faint on standing up", True),
        ("does not want to", False),
        ("no room or equipment", False),
        ("not enough time", False),
        ("not needed for this person", False),
    ],
)
def test_a_test_left_out_for_safety_or_in_own_words_closes_the_gates_behind_it(
    reason: str, closes: bool
) -> None:
    found = closed("one", "one-first", skipped=[skip(reason=reason, side="left")])
    told = f"one-first, which comes before it, was left out: {reason}."
    assert found == ({"left": told} if closes else {})


def test_every_reason_on_offer_is_known_to_the_gates() -> None:
    assert {one for one in SKIP_REASONS if speaks_against_harder_tests(one)} == set(AGAINST_TESTING)


def test_a_skip_without_a_side_is_about_both_legs() -> None:
    assert set(closed("one", "one-first", skipped=[skip()])) == {"left", "right"}
    assert set(closed("two", "one-first", skipped=[skip(side="right")])) == {None}
    assert set(closed("one", "two-first", skipped=[skip("two-first")])) == {"left", "right"}


def test_a_skip_closes_a_gate_on_a_poor_result_or_a_sign_but_not_one_on_a_good_result() -> None:
    skipped = [skip(side="left")]
    signs = {"signs_any": ["unsteady"]}
    assert set(closed("one", "one-first", skipped=skipped, when=signs)) == {"left"}
    for good in ({"standing": "meets"}, {"at_least": 3.0}):
        when = {"measure": "value", **good}
        assert closed("one", "one-first", skipped=skipped, when=when) == {}


def test_which_end_is_poor_follows_the_measure() -> None:
    timed = measure(better="lower")
    before = test_spec("before", measures=[timed], timer={"kind": "once"})
    for end, closes in (("at_most", False), ("at_least", True)):
        gate = {
            "withhold": "one",
            "after": "before",
            "when": {"measure": "value", end: 12.0},
            "reason": REASON,
            "source": "judgement",
        }
        whole = protocol(before, test_spec("one"), gates=[gate])
        found = closed_gates(Seen.of(whole, session(skipped=[skip("before")])))
        assert bool(found) == closes


def test_a_test_done_after_all_speaks_for_itself() -> None:
    skipped = [skip(side="left")]
    assert closed("one", "one-first", left(value=20.0), skipped=skipped) == {}
    assert closed("one", "one-first", left(), skipped=skipped) == {"left": REASON}
    struck = left(value=20.0, void="disturbed")
    assert set(closed("one", "one-first", struck, skipped=skipped)) == {"left"}


def test_what_became_unsafe_closes_the_gate_whatever_its_number() -> None:
    told = "It became unsafe in the one-first, which comes before it."
    assert closed("one", "one-first", left(value=20.0, ended="unsafe")) == {"left": told}
    assert closed("one", "one-first", left(value=None, ended="unsafe")) == {"left": told}
    assert closed("one", "one-first", left(value=20.0, ended="foot-down")) == {}
