"""The marks of plan and safety: how many, how painful, how heavy; each from both of its sides."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import exercise, finding, protocol, session, test_spec

from screen_tui.engine import Assessment, assess
from screen_tui.engine.conditions import Seen
from screen_tui.engine.observe import observe
from screen_tui.engine.safety import loads_allowed, unloaded_only, why_too_painful, withheld_tests
from screen_tui.fields import Load
from screen_tui.session.model import Intake

# Seen 18 times as often with the driver: from 20 of 100 to about 82, in one test.
HIP = finding("pelvis-drops", none=5, hip=90)
FOOT = finding("arch-collapses", none=5, foot=90)
BOTH: dict[Load, str] = {"unloaded": "lying", "both-legs": "rises", "one-leg": "stance",
                         "floor": "floor-rise"}  # fmt: skip


def seen(*signs: str, side: str = "left", **more: Any) -> dict[str, Any]:
    return {"test": "stance", "side": side, "value": 20.0, "signs": signs, **more}


def answer(*trials: dict[str, Any], **more: Any) -> Assessment:
    exercises = [
        exercise(f"{driver}-{order}", driver, order=order)
        for driver in ("hip-control", "foot-ankle-control")
        for order in (6, 5, 4, 3, 2, 1)
    ]
    deep = {"id": "deep", "name": "deep bends", "when": "pain-over-5", "reason": "why",
            "source": "judgement"}  # fmt: skip
    spec = test_spec("stance", findings=[HIP, FOOT])
    return assess(protocol(spec, exercises=exercises, leave_out=[deep]), session(*trials, **more))


def started(found: Assessment) -> list[tuple[str, str | None]]:
    return [(start.exercise, start.side) for start in found.plan.start]


def test_one_driver_gets_its_first_four_exercises_in_their_order() -> None:
    found = answer(seen("pelvis-drops"))
    assert started(found) == [(f"hip-control-{order}", "left") for order in (1, 2, 3, 4)]


def test_both_sides_of_one_driver_share_one_set() -> None:
    found = answer(seen("pelvis-drops"), seen("pelvis-drops", side="right"))
    assert len(found.leading) == 2
    assert len(started(found)) == 4


def test_two_drivers_share_five_exercises_the_first_three_for_the_one_in_front() -> None:
    found = answer(seen("pelvis-drops", "arch-collapses"))
    assert [name for name, _ in started(found)] == [
        "hip-control-1", "hip-control-2", "hip-control-3",
        "foot-ankle-control-1", "foot-ankle-control-2",
    ]  # fmt: skip


@pytest.mark.parametrize(("pain", "left_out"), [(None, []), (5, []), (6, ["deep"])])
def test_pain_is_too_much_above_five_of_ten(pain: int | None, left_out: list[str]) -> None:
    # Above 5 of 10 is high risk (Ageberg 2010, BMC Musculoskelet Disord 11:126).
    found = answer(seen("pelvis-drops", pain=pain))
    assert [item.id for item in found.plan.leave_out] == left_out


@pytest.mark.parametrize(
    ("bearing", "left_out"),
    [("full", []), ("as-tolerated", ["one-leg"]), ("partial", ["standing"])],
)
def test_what_the_load_forbids_is_left_out_once_by_its_own_name(
    bearing: str, left_out: list[str]
) -> None:
    items = [
        {"id": name, "name": name, "when": f"no-{name}", "reason": "why", "source": "judgement"}
        for name in ("standing", "one-leg")
    ]
    whole = protocol(test_spec("stance", findings=[HIP]), leave_out=items)
    found = assess(whole, session(seen("pelvis-drops"), intake={"weight_bearing": bearing}))
    assert [item.id for item in found.plan.leave_out] == left_out


@pytest.mark.parametrize(
    ("bearing", "confirmed", "loads"),
    [
        ("full", False, {"unloaded", "both-legs", "one-leg", "floor"}),
        ("as-tolerated", True, {"unloaded", "both-legs", "one-leg", "floor"}),
        ("as-tolerated", False, {"unloaded", "both-legs"}),
        ("partial", True, {"unloaded"}),
        ("touch", True, {"unloaded"}),
        ("none", True, {"unloaded"}),
    ],
)
def test_the_order_of_the_surgeon_says_which_loads_are_allowed(
    bearing: Any, confirmed: bool, loads: set[str]
) -> None:
    intake = Intake(weight_bearing=bearing, one_leg_confirmed=confirmed)
    assert loads_allowed(protocol(*TESTS), intake) == loads
    assert unloaded_only(intake) == (loads == {"unloaded"})


TESTS = [
    test_spec(name, load=load, sides="each" if load in ("unloaded", "one-leg") else "both")
    for load, name in BOTH.items()
]


@pytest.mark.parametrize(
    ("done", "stopped"),
    [
        ("unloaded", {"unloaded", "both-legs", "one-leg", "floor"}),
        ("both-legs", {"both-legs", "one-leg", "floor"}),
        ("one-leg", {"one-leg", "floor"}),
        ("floor", {"one-leg", "floor"}),
    ],
)
@pytest.mark.parametrize("hurt", [{"pain": 6}, {"ended": "pain"}])
def test_what_hurt_too_much_stops_what_is_no_lighter(
    done: Load, stopped: set[str], hurt: dict[str, Any]
) -> None:
    side = "left" if done in ("unloaded", "one-leg") else None
    trial = {"test": BOTH[done], "side": side, "value": 20.0, **hurt}
    observed = observe(protocol(*TESTS), session(trial))
    found = {
        spec.load
        for spec in TESTS
        if why_too_painful(spec, "left" if spec.sided else None, observed)
    }
    assert found == stopped


@pytest.mark.parametrize("pain", [None, 0, 5])
def test_pain_up_to_five_stops_nothing(pain: int | None) -> None:
    trial = {"test": "stance", "side": "left", "value": 20.0, "pain": pain}
    observed = observe(protocol(*TESTS), session(trial))
    assert not any(why_too_painful(spec, "left", observed) for spec in TESTS)


def test_a_painful_leg_stops_that_leg_and_what_both_do_but_not_the_other() -> None:
    trial = {"test": "stance", "side": "left", "value": 20.0, "pain": 8}
    observed = observe(protocol(*TESTS), session(trial))
    stance, floor = TESTS[2], TESTS[3]
    assert why_too_painful(stance, "left", observed)
    assert not why_too_painful(stance, "right", observed)
    assert why_too_painful(floor, None, observed)


def test_pain_above_five_withholds_what_is_no_lighter_until_it_is_done_all_the_same() -> None:
    rises = {"test": "rises", "value": 20.0, "pain": 7}
    whole = protocol(*TESTS)
    told = "Pain above 5 of 10 in the rises."
    found = withheld_tests(Seen.of(whole, session(rises)))
    assert {test for test, _ in found} == {spec.id for spec in TESTS if spec.load != "unloaded"} - {
        "rises"
    }
    assert set(found.values()) == {told}
    done = {"test": "stance", "side": "left", "value": 20.0}
    again = withheld_tests(Seen.of(whole, session(rises, done)))
    assert ("stance", "left") not in again
    assert ("stance", "right") in again


def exercises_for(exercises: list[dict[str, Any]], **intake: Any) -> list[str]:
    """What is started for a left hip that dropped, by a person of this intake."""
    whole = protocol(test_spec("stance", findings=[HIP]), exercises=exercises)
    return [
        name for name, _ in started(assess(whole, session(seen("pelvis-drops"), intake=intake)))
    ]


@pytest.mark.parametrize(
    ("goals", "chosen"),
    [([], ["any", "for-stairs"]), (["stairs"], ["any", "for-stairs"]), (["chair"], ["any"])],
)
def test_who_named_no_goal_gets_what_is_for_every_goal_and_for_any(
    goals: list[str], chosen: list[str]
) -> None:
    exercises = [
        exercise("any", "hip-control", order=1),
        exercise("for-stairs", "hip-control", order=2, goals=["stairs"]),
    ]
    assert exercises_for(exercises, goals=goals) == chosen


@pytest.mark.parametrize(
    ("bearing", "chosen"),
    [("full", ["lying"]), ("touch", ["instead", "lying"]), ("as-tolerated", ["lying"])],
)
def test_what_stands_in_for_standing_joins_what_is_done_lying_anyway(
    bearing: str, chosen: list[str]
) -> None:
    exercises = [
        exercise("instead", "hip-control", load="unloaded", order=1, instead_of_standing=True),
        exercise("lying", "hip-control", load="unloaded", order=2),
    ]
    assert exercises_for(exercises, weight_bearing=bearing) == chosen


@pytest.mark.parametrize(
    ("repeat", "told"),
    [({}, ""), ({"pain": 5}, ""), ({"pain": 6}, "Pain above 5 of 10 in the stance.")],
)
def test_a_repeat_with_a_cue_hurts_by_its_number_and_else_withholds_nothing(
    repeat: dict[str, Any], told: str
) -> None:
    alone = seen(cue="level", **repeat)
    observed = observe(protocol(*TESTS), session(alone))
    assert why_too_painful(TESTS[2], "left", observed) == told
    found = withheld_tests(Seen.of(protocol(*TESTS), session(alone)))
    assert set(found.values()) == ({told} if told else set())
