"""When a condition holds: one at a time, on trials a person can follow."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import line, measure, protocol, session, test_spec

from screen_tui.engine.conditions import Seen, holds, only_in_pain
from screen_tui.protocol.evidence import Condition
from screen_tui.protocol.tests import TestSpec

SHORT = {"measure": "value", "standing": "short of the line"}
STANCE = test_spec("stance", lines=[line("value", "at least", 10.0)])


def sides(
    when: dict[str, Any], *trials: dict[str, Any], spec: TestSpec = STANCE, **more: Any
) -> set[str | None]:
    """The sides on which the condition holds for a test."""
    seen = Seen.of(protocol(spec), session(*trials, **more))
    condition = Condition.model_validate(when)
    return {one.side for one in seen.observations.values() if holds(condition, seen, one)}


def stance(side: str, value: float | None = 20.0, *signs: str, **more: Any) -> dict[str, Any]:
    return {"test": "stance", "side": side, "value": value, "signs": signs, **more}


def test_both_sides_must_be_short_where_both_are_asked() -> None:
    when = {**SHORT, "both_sides": True}
    assert sides(when, stance("left", 3.0), stance("right", 4.0)) == {"left", "right"}
    assert sides(when, stance("left", 3.0), stance("right", 20.0)) == set()
    assert sides(when, stance("left", 3.0)) == set()


@pytest.mark.parametrize(
    ("value", "applies"), [(4.9, False), (5.0, True), (7.0, True), (7.1, False)]
)
def test_bounds_belong_to_what_they_bound(value: float, applies: bool) -> None:
    when = {"measure": "value", "at_least": 5.0, "at_most": 7.0}
    assert sides(when, stance("left", value)) == ({"left"} if applies else set())


def test_a_bound_says_nothing_about_a_value_given_in_pain_or_not_at_all() -> None:
    when = {"measure": "value", "at_most": 7.0}
    assert sides(when, stance("left", 5.0, ended="pain")) == set()
    assert sides(when, stance("left", None)) == set()


@pytest.mark.parametrize(
    ("left", "right", "applies"),
    [
        (stance("left", 14.0), stance("right", 20.0), True),  # 30 % worse
        (stance("left", 14.1), stance("right", 20.0), False),
        (stance("left", 20.0), stance("right", 14.0), False),
        (stance("left", 14.0, ended="pain"), stance("right", 20.0), False),
        (stance("left", 14.0), stance("right", 20.0, ended="pain"), False),
        (stance("left", 14.0), stance("right", None), False),
        (stance("left", None), stance("right", 20.0), False),
    ],
)
def test_worse_than_the_other_leg_by_a_share_of_the_other(
    left: dict[str, Any], right: dict[str, Any], applies: bool
) -> None:
    when = {"measure": "value", "worse_than_other_percent": 30}
    assert ("left" in sides(when, left, right)) == applies


def test_how_a_trial_ended_is_any_of_its_reasons() -> None:
    when = {"ended_any": ["fatigue", "foot-down"]}
    assert sides(when, stance("left", 20.0, ended="foot-down")) == {"left"}
    assert sides(when, stance("left", 20.0, ended="cap")) == set()


@pytest.mark.parametrize(
    ("up", "down", "applies"),
    [
        ([1, 2, 3, 4, 5, 6], [1, 2, 3, 4, 5.2, 6.4], True),  # down: 1.0 a step, then 1.2
        ([1, 2, 3, 4, 5.2, 6.4], [1, 2, 3, 4, 5, 6], True),
        ([1, 2, 3, 4, 5, 6], [1, 2, 3, 4, 5.1, 6.2], False),
    ],
)
def test_slowing_on_either_flight_is_slowing(
    up: list[float], down: list[float], applies: bool
) -> None:
    spec = test_spec(
        "stairs",
        sides="both",
        timer={"kind": "steps", "steps": 6, "min_split_s": 0.2},
        measures=[
            measure("time-up", id="up", better="lower"),
            measure("time-down", id="down", better="lower"),
        ],
    )
    trials = [
        {"test": "stairs", "direction": way, "value": splits[-1], "splits": splits}
        for way, splits in (("up", up), ("down", down))
    ]
    found = sides({"slowing_percent": 19.9}, *trials, spec=spec)
    assert found == ({None} if applies else set())


def test_a_side_difference_needs_the_other_side() -> None:
    when = {"measure": "value", "worse_than_other_percent": 30}
    assert sides(when, stance("left", 3.0)) == set()
    assert sides(when, stance("left", 3.0), stance("right", 20.0, cue="level")) == set()


def test_a_two_legged_test_is_both_sides() -> None:
    rises = test_spec("rises", sides="both", lines=[line("value", "at least", 10.0)])
    trial = {"test": "rises", "value": 3.0}
    assert sides({**SHORT, "both_sides": True}, trial, spec=rises) == {None}


def test_a_bound_needs_no_line() -> None:
    # There is no band for 40 years of age, so nothing is judged; 3 s are at most 7 all the same.
    young = {"client": {"age": 40}}
    assert sides({"measure": "value", "at_most": 7.0}, stance("left", 3.0), **young) == {"left"}
    assert sides(SHORT, stance("left", 3.0), **young) == set()


@pytest.mark.parametrize(
    ("signs", "applies"),
    [
        ((), False),
        (("pelvis-drops",), True),
        (("unsteady",), True),
        (("pelvis-drops", "arch-collapses"), False),
        (("arch-collapses",), False),
    ],
)
def test_any_of_the_signs_asked_for_and_none_of_the_excluded(
    signs: tuple[str, ...], applies: bool
) -> None:
    when = {"signs_any": ["pelvis-drops", "unsteady"], "signs_none": ["arch-collapses"]}
    assert sides(when, stance("left", 20.0, *signs)) == ({"left"} if applies else set())


def test_what_was_seen_in_pain_only_says_so() -> None:
    hurt, fair = stance("left", 20.0, "unsteady", ended="pain"), stance("left", 20.0, "unsteady")

    def in_pain(*trials: dict[str, Any]) -> bool:
        seen = Seen.of(protocol(STANCE), session(*trials))
        condition = Condition(signs_any=("unsteady",))
        left = seen.observations["stance", "left"]
        assert holds(condition, seen, left)
        return only_in_pain(condition, seen, left)

    assert in_pain(hurt)
    assert not in_pain(fair)
    assert not in_pain(hurt, fair)
