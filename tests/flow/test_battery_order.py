"""Which tests are offered, in which order, and what comes next."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from flow_protocol import make_protocol, make_spec

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Client, Intake, Session, Skip, Trial
from screen_tui.trial.battery import (
    Item,
    ItemState,
    allowed_items,
    minutes_left,
    next_item,
    plan_battery,
    progress,
    withheld,
)

EXTENSION = make_spec("measure", id="extension", sides="each", load="unloaded")
STANCE = make_spec("hold", id="stance", sides="each", load="one-leg")
RISES = make_spec("count-in-time", id="rises", sides="both", load="both-legs")
FLOOR = make_spec("once", id="floor", sides="both", load="floor")
STAIRS = make_spec("steps", id="stairs", sides="both", load="one-leg", trials=2)
ALL = (EXTENSION, STANCE, RISES, FLOOR, STAIRS)
GOALS = {"floor": ["floor"], "stairs": ["stairs", "walking"]}


def protocol(**changes: Any) -> ScreenProtocol:
    return make_protocol(ALL, goals=GOALS, **changes)


def intake(**changes: Any) -> Intake:
    return Intake.model_validate({"side": "left", "goals": ("floor", "stairs"), **changes})


def names(items: tuple[Item, ...]) -> list[str]:
    return [item.test if item.side is None else f"{item.test} {item.side}" for item in items]


def session(*trials: Trial, skipped: tuple[Skip, ...] = ()) -> Session:
    return Session(
        id="2026-03-02-0915-7f3a",
        protocol="small",
        started=datetime(2026, 3, 2, 9, 15, tzinfo=UTC),
        client=Client(label="K-014", age=67),
        intake=intake(),
        trials=trials,
        skipped=skipped,
    )


def states(*trials: Trial, **changes: Any) -> dict[str, ItemState]:
    items = plan_battery(protocol(), intake())
    found = progress(protocol(), session(*trials, **changes), items)
    return dict(zip(names(items), found, strict=True))


@pytest.mark.parametrize(
    ("side", "order"),
    [
        # Sound side first: common practice, no source.
        ("left", ["extension right", "extension left"]),
        ("right", ["extension left", "extension right"]),
        ("both", ["extension right", "extension left"]),
    ],
)
def test_the_sound_side_is_tested_first(side: str, order: list[str]) -> None:
    assert names(plan_battery(protocol(), intake(side=side)))[:2] == order


def test_the_order_is_that_of_the_battery() -> None:
    assert names(plan_battery(protocol(), intake())) == [
        "extension right",
        "extension left",
        "stance right",
        "stance left",
        "rises",
        "floor",
        "stairs",
    ]


def test_tests_for_other_goals_are_left_out_and_said_to_be() -> None:
    plan = names(plan_battery(protocol(), intake(goals=("walking",))))
    assert "floor" not in plan
    assert "stairs" in plan
    (left,) = withheld(protocol(), intake(goals=("walking",)))
    assert left.test == "floor"
    assert "goal floor" in left.reason


def test_what_waits_to_be_asked_for_is_no_part_of_the_visit() -> None:
    whole = protocol(when_asked=("stance",))
    assert "stance right" not in names(plan_battery(whole, intake()))
    assert [left.test for left in withheld(whole, intake())] == []
    allowed = allowed_items(whole, intake())
    assert {"stance right", "stance left"} < set(names(allowed))
    states = [one for one in progress(whole, session(), allowed) if one.item.test == "stance"]
    assert {(one.state, one.reason) for one in states} == {("on-request", "offered when asked for")}
    wanted = progress(whole, session(), allowed, {"stance"})
    assert {one.state for one in wanted} == {"todo"}


def test_what_was_asked_for_is_done_like_any_other() -> None:
    whole = protocol(when_asked=("stance",))
    done = session(Trial(test="stance", side="left", value=9.0))
    states = progress(whole, done, allowed_items(whole, intake()))
    right, left = (one for one in states if one.item.test == "stance")
    assert (right.state, left.state) == ("on-request", "done")


def test_only_what_is_safe_can_be_asked_for() -> None:
    whole = protocol(when_asked=("stance",))
    assert names(allowed_items(whole, intake(weight_bearing="none"))) == [
        "extension right",
        "extension left",
    ]
    assert allowed_items(whole, intake(cautions=("clot",))) == ()


@pytest.mark.parametrize(
    ("order", "confirmed", "offered"),
    [
        # Weight-bearing orders as the trade uses them: none, touch and partial allow no standing
        # test; as tolerated allows one leg only when confirmed (the last is judgement).
        ("none", True, {"extension"}),
        ("touch", False, {"extension"}),
        ("partial", True, {"extension"}),
        ("as-tolerated", False, {"extension", "rises"}),
        ("as-tolerated", True, {"extension", "stance", "rises", "floor", "stairs"}),
        ("full", False, {"extension", "stance", "rises", "floor", "stairs"}),
    ],
)
def test_only_tests_within_the_load_allowed_are_offered(
    order: str, confirmed: bool, offered: set[str]
) -> None:
    asked = intake(weight_bearing=order, one_leg_confirmed=confirmed)
    assert {item.test for item in plan_battery(protocol(), asked)} == offered
    left = {each.test: each.reason for each in withheld(protocol(), asked)}
    assert set(left) == {spec.id for spec in ALL} - offered
    assert all("weight-bearing is" in reason for reason in left.values())


def test_a_safety_answer_offers_nothing_until_it_is_overruled() -> None:
    asked = intake(cautions=("clot",))
    assert plan_battery(protocol(), asked) == ()
    assert {each.reason for each in withheld(protocol(), asked)} == {
        "a safety question was answered yes: refer first"
    }
    assert plan_battery(protocol(), asked, despite_cautions=True)


def test_an_item_is_done_when_a_trial_counts() -> None:
    trial = Trial(test="stance", side="left", value=9.0)
    assert states()["stance left"].state == "todo"
    assert states(trial)["stance left"].state == "done"
    assert states(trial)["stance left"].trials_done == 1
    assert states(trial)["stance left"].trials_wanted == 3
    assert states(trial)["stance right"].state == "todo"
    assert states(trial.model_copy(update={"void": "false start"}))["stance left"].state == "todo"
    assert states(trial.model_copy(update={"cue": "pelvis-level"}))["stance left"].state == "todo"


def test_stairs_are_done_when_both_ways_were_taken() -> None:
    up = Trial(test="stairs", value=8.0, direction="up", steps=4)
    assert states(up)["stairs"].state == "todo"
    assert (states(up)["stairs"].trials_done, states(up)["stairs"].trials_wanted) == (1, 2)
    assert states(up, up.model_copy(update={"direction": "down"}))["stairs"].state == "done"


def test_a_skip_is_shown_with_its_reason() -> None:
    skip = Skip(test="floor", reason="not safe today")
    found = states(skipped=(skip,))
    assert (found["floor"].state, found["floor"].reason) == ("skipped", "not safe today")
    both = states(skipped=(Skip(test="stance", reason="too sore"),))
    assert both["stance left"].state == both["stance right"].state == "skipped"


def test_a_gate_withholds_a_test_after_an_earlier_result() -> None:
    gate = {
        "withhold": "floor",
        "after": "rises",
        "when": {"signs_any": ["hands-used"]},
        "reason": "rising needed the hands",
        "source": "practice",
    }
    whole = protocol(gates=(gate,))
    items = plan_battery(whole, intake())
    plain = progress(whole, session(Trial(test="rises", value=9)), items)
    assert plain[-2].state == "todo"
    used = progress(whole, session(Trial(test="rises", value=0, signs=("hands-used",))), items)
    assert (used[-2].item.test, used[-2].state) == ("floor", "not-offered")
    assert used[-2].reason == "rising needed the hands"


def test_the_next_item_is_the_one_behind_then_those_left_open_before() -> None:
    items = plan_battery(protocol(), intake())
    done = Trial(test="stairs", value=8.0, direction="up", steps=4)
    found = progress(
        protocol(), session(done, done.model_copy(update={"direction": "down"})), items
    )
    assert next_item(found) == items[0]
    assert next_item(found, after=items[2]) == items[3]
    assert next_item(found, after=items[-2]) == items[0]
    # Two minutes each, half of it for one leg: two tests of each leg, and two more to do.
    assert minutes_left(found) == 4 * 1 + 2 * 2


def test_the_minutes_left_fall_with_each_trial_of_the_test_at_hand() -> None:
    items = plan_battery(protocol(), intake())
    stance = next(item for item in items if (item.test, item.side) == ("stance", "left"))
    first = Trial(test="stance", side="left", value=9.0)

    def left(*trials: Trial) -> float:
        return minutes_left(progress(protocol(), session(*trials), items), stance)

    # One leg takes one minute for three trials.
    whole = left()
    assert left(first) == pytest.approx(whole - 1 / 3)
    assert left(first, first) == pytest.approx(whole - 2 / 3)
    assert left(first, first, first) == pytest.approx(whole - 1)
    assert left(first.model_copy(update={"ended": "cap"})) == pytest.approx(whole - 1)
    gone_on = minutes_left(progress(protocol(), session(first), items))
    assert gone_on == pytest.approx(whole - 1)


def test_one_way_on_the_stairs_leaves_half_of_their_time() -> None:
    items = plan_battery(protocol(), intake())
    up = Trial(test="stairs", value=8.0, direction="up", steps=4)
    whole = minutes_left(progress(protocol(), session(), items))
    assert minutes_left(progress(protocol(), session(up), items)) == pytest.approx(whole - 1)


def test_there_is_no_next_item_when_all_is_done() -> None:
    items = (Item("rises", None, 2),)
    found = progress(protocol(), session(Trial(test="rises", value=9)), items)
    assert items[0] == Item("rises", None, 1)
    assert next_item(found, after=items[0]) is None
    assert minutes_left(found) == 0
