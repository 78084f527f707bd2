"""Which later tests an earlier result withholds, on which leg, and for whom."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import line, protocol, session, test_spec

from screen_tui.engine.gates import closed_gates

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
        "full_load_only": more.pop("full_load_only", False),
    }
    lines = [line("value", "at least", 10.0)]
    tests = [
        test_spec("one-first", lines=lines),
        test_spec("two-first", sides="both", lines=lines),
        test_spec("one", load="one-leg"),
        test_spec("two", load="one-leg", sides="both"),
    ]
    found = closed_gates(protocol(*tests, gates=[gate]), session(*trials, **more))
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
    ("intake", "closes"),
    [
        ({"weight_bearing": "full"}, True),
        ({"weight_bearing": "as-tolerated"}, False),
        ({"weight_bearing": "as-tolerated", "one_leg_confirmed": True}, True),
        ({"weight_bearing": "none"}, False),
    ],
)
def test_a_gate_for_full_load_is_open_to_those_who_may_not_put_it_on_one_leg(
    intake: dict[str, Any], closes: bool
) -> None:
    for_full_load = closed("one", "one-first", left(), intake=intake, full_load_only=True)
    assert bool(for_full_load) == closes
    assert closed("one", "one-first", left(), intake=intake) == {"left": REASON}


@pytest.mark.parametrize(
    ("when", "closes"),
    [
        (POOR, True),
        (SHORT, True),
        ({"measure": "value", "standing": "meets"}, False),
        ({"measure": "value", "at_least": 3.0}, False),
        ({"signs_any": ["unsteady"]}, False),
    ],
)
def test_pain_closes_a_gate_that_waits_for_a_poor_result_and_no_other(
    when: dict[str, Any], closes: bool
) -> None:
    found = closed("one", "one-first", left(value=20.0, ended="pain"), when=when)
    told = "Pain limited the one-first, which comes before it."
    assert found == ({"left": told} if closes else {})
