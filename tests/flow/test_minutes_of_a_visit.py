"""How long a visit is said to take, and how that falls from the first test to the last."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Client, Intake, Session, Skip, Trial
from screen_tui.trial.battery import Item, minutes_left, next_item, plan_battery
from screen_tui.trial.itinerary import Itinerary

GOALS = ("walking", "chair", "floor", "stairs")
PAIRS = list(combinations(GOALS, 2))
AGES = (34, 72)
USUAL: Mapping[str, Mapping[str, Any]] = {
    "knee-extension": {"passive_deg": 0, "active_deg": 1},
    "tandem-stance": {"value": 10, "ended": "cap"},
    "single-leg-stance": {"value": 12, "ended": "foot-down"},
    "walk-4m": {"value": 3.4},
    "timed-up-and-go": {"value": 8},
    "five-chair-stands": {"value": 10},
    "chair-stands-30s": {"value": 13},
    "stair-steps": {"value": 5, "steps": 12},
    "floor-rise": {"value": 5},
}
"""What a person without anything to find shows in each test; nothing but time for the others."""


@pytest.fixture(scope="module")
def shipped() -> ScreenProtocol:
    return load_protocol([protocols_folder()])


def begun(goals: tuple[str, ...], age: int, **intake: Any) -> Session:
    return Session(
        id="2026-03-02-0915-7f3a",
        protocol="chairside-knee",
        started=datetime(2026, 3, 2, 9, 15, tzinfo=UTC),
        client=Client(label="K-014", age=age, sex="female"),
        intake=Intake.model_validate({"side": "left", "goals": goals, **intake}),
    )


@dataclass
class Step:
    """What one trial, or going on to the next test, did to the minutes left."""

    item: Item
    before: float
    after: float
    withheld: float


def visit(
    protocol: ScreenProtocol, session: Session, most: int = 9, **shown: Mapping[str, Any]
) -> Iterator[Step]:
    """Do all that is offered, at most so many trials of a test."""
    itinerary = Itinerary.of(protocol, session)
    while True:
        item, spec = itinerary.item, itinerary.spec
        for number in range(most):
            if next(one for one in itinerary.states if one.item == item).full:
                break
            found = {**USUAL.get(item.test, {}), **shown.get(item.test.replace("-", "_"), {})}
            if spec.timer.flight is not None:
                found["direction"] = ("up", "down")[number % 2]
            trial = Trial.model_validate({"test": item.test, "side": item.side, **found})
            session = session.with_trial(trial)
            later = itinerary.after(session)
            yield step(item, itinerary, later)
            itinerary = later
        following = itinerary.following
        if following is None:
            return
        later = itinerary.at(following)
        yield step(item, itinerary, later)
        itinerary = later


def step(item: Item, before: Itinerary, after: Itinerary) -> Step:
    were = {one.item: one for one in before.states if one.state == "todo"}
    withheld = sum(
        were[one.item].minutes_left
        for one in after.states
        if one.state == "not-offered" and one.item in were
    )
    return Step(item, before.minutes_left, after.minutes_left, withheld)


def total(items: tuple[Item, ...]) -> float:
    return sum(item.minutes for item in items)


@pytest.mark.parametrize("age", AGES)
@pytest.mark.parametrize("goals", PAIRS)
def test_two_goals_take_ten_minutes_at_most(
    shipped: ScreenProtocol, goals: tuple[str, ...], age: int
) -> None:
    session = begun(goals, age)
    estimate = total(plan_battery(shipped, session.intake, age))
    assert estimate <= 10
    assert Itinerary.of(shipped, session).minutes_left == pytest.approx(estimate)


def test_the_readme_tells_the_minutes(shipped: ScreenProtocol) -> None:
    text = " ".join((Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8").split())
    takes = {
        round(total(plan_battery(shipped, begun(goals, age).intake, age)), 1)
        for goals in PAIRS
        for age in AGES
    }
    whole = total(plan_battery(shipped, begun(GOALS, 34).intake, 34))
    assert f"{min(takes):g} to {max(takes):g} for two goals, {whole:.1f} for all four" in text


@pytest.mark.parametrize("most", [2, 9])
@pytest.mark.parametrize("age", AGES)
@pytest.mark.parametrize("goals", PAIRS)
def test_the_minutes_left_of_a_usual_visit_fall_by_the_test_at_hand_alone(
    shipped: ScreenProtocol, goals: tuple[str, ...], age: int, most: int
) -> None:
    session = begun(goals, age)
    steps = list(visit(shipped, session, most))
    tests = [one.item for one in steps]
    assert dict.fromkeys(tests) == dict.fromkeys(plan_battery(shipped, session.intake, age))
    for one in steps:
        assert one.withheld == 0
        assert -1e-9 <= one.before - one.after <= one.item.minutes + 1e-9, one
    assert steps[-1].after == pytest.approx(0)


@pytest.mark.parametrize(
    "shown",
    [
        {"tandem_stance": {"value": 6, "ended": ""}},
        {"single_leg_stance": {"value": 3}},
        {"five_chair_stands": {"ended": "breathless"}, "chair_stands_30s": {"ended": "breathless"}},
        {"step_down": {"pain": 7}},
        {"knee_extension": {"passive_deg": 0, "active_deg": 1, "signs": ("no-contraction",)}},
    ],
)
@pytest.mark.parametrize("age", AGES)
@pytest.mark.parametrize("goals", PAIRS)
def test_what_is_withheld_takes_its_own_minutes_away(
    shipped: ScreenProtocol, goals: tuple[str, ...], age: int, shown: Mapping[str, Any]
) -> None:
    for one in visit(shipped, begun(goals, age), **shown):
        fell = one.before - one.after
        assert fell <= one.item.minutes + one.withheld + 1e-9, one
        if "knee_extension" not in shown:
            assert fell >= -1e-9, one


def names(items: tuple[Item, ...]) -> set[str]:
    return {item.test for item in items}


@pytest.mark.parametrize(
    ("goals", "age", "chair"),
    [
        (("walking",), 59, "five-chair-stands"),
        (("walking",), 60, "chair-stands-30s"),
        (("chair",), 60, "five-chair-stands"),
        (GOALS, 34, "five-chair-stands"),
        ((), 72, "chair-stands-30s"),
    ],
)
def test_one_chair_test_is_offered(
    shipped: ScreenProtocol, goals: tuple[str, ...], age: int, chair: str
) -> None:
    session = begun(goals, age)
    both = {"five-chair-stands", "chair-stands-30s"}
    assert names(plan_battery(shipped, session.intake, age)) & both == {chair}
    (other,) = (
        one for one in Itinerary.of(shipped, session).listed if one.item.test in both - {chair}
    )
    name = "five chair stands" if chair == "five-chair-stands" else "30 s chair stand"
    assert (other.state, other.reason) == ("on-request", f"covered by the {name}")


@pytest.mark.parametrize("goals", PAIRS)
def test_walking_is_timed_once(shipped: ScreenProtocol, goals: tuple[str, ...]) -> None:
    items = names(plan_battery(shipped, begun(goals, 72).intake, 72))
    assert not {"walk-4m", "timed-up-and-go"} <= items
    assert {"walk-4m", "timed-up-and-go", "stair-steps"} & items


def test_up_and_go_comes_back_where_the_stairs_are_withheld(shipped: ScreenProtocol) -> None:
    session = begun(("floor", "stairs"), 81)
    states = {one.item.test: one for one in Itinerary.of(shipped, session).states}
    assert states["timed-up-and-go"].reason == "covered by the stair steps"
    short = session.with_trial(Trial(test="tandem-stance", value=4))
    states = {one.item.test: one for one in Itinerary.of(shipped, short).states}
    assert states["stair-steps"].state == "not-offered"
    assert states["timed-up-and-go"].state == "todo"
    # A test somebody left out is not replaced: why they did is theirs to know.
    left_out = session.with_skip(Skip(test="stair-steps", reason="no room or equipment"))
    states = {one.item.test: one for one in Itinerary.of(shipped, left_out).states}
    assert states["timed-up-and-go"].state == "on-request"


def test_a_chair_test_that_was_asked_for_takes_the_place_of_the_other(
    shipped: ScreenProtocol,
) -> None:
    session = begun(("walking",), 72)
    itinerary = Itinerary.of(shipped, session)
    asked = itinerary.at(Item("five-chair-stands", None, 1))
    assert "chair-stands-30s" not in names(asked.items)
    assert asked.minutes_left == pytest.approx(itinerary.minutes_left)
    done = session.with_trial(Trial(test="five-chair-stands", value=12))
    assert "chair-stands-30s" not in names(Itinerary.of(shipped, done).items)


def test_a_lag_calls_for_the_set_and_the_raises_on_that_leg(shipped: ScreenProtocol) -> None:
    session = begun(("walking",), 34)
    lag = Trial(test="knee-extension", side="left", passive_deg=0, active_deg=9)
    clean = Trial(test="knee-extension", side="right", passive_deg=0, active_deg=1)
    states = Itinerary.of(shipped, session.with_trial(clean).with_trial(lag)).states
    found = {
        (one.item.test, one.item.side): (one.state, one.reason)
        for one in states
        if one.item.test in ("quad-set", "straight-leg-raise-hold")
    }
    assert found["quad-set", "left"] == found["straight-leg-raise-hold", "left"] == ("todo", "")
    assert found["quad-set", "right"][0] == "on-request"
    assert found["straight-leg-raise-hold", "right"] == (
        "on-request",
        "No lag and full load allowed: the ten raises would add little.",
    )
    before = {one.item.test: one for one in Itinerary.of(shipped, session).states}
    assert before["quad-set"].reason == "offered once a result calls for it"


def test_a_limit_calls_for_the_set_alone(shipped: ScreenProtocol) -> None:
    bent = Trial(test="knee-extension", side="left", passive_deg=8, active_deg=8)
    items = Itinerary.of(shipped, begun(("walking",), 34).with_trial(bent)).items
    assert [one.side for one in items if one.test == "quad-set"] == ["left"]
    assert "straight-leg-raise-hold" not in names(items)


def test_a_sign_in_the_set_calls_for_the_raises(shipped: ScreenProtocol) -> None:
    lagged = Trial(test="quad-set", side="left", signs=("extension-lag",))
    items = Itinerary.of(shipped, begun(("walking",), 34).with_trial(lagged)).items
    assert [one.side for one in items if one.test == "straight-leg-raise-hold"] == ["left"]


@pytest.mark.parametrize("order", ["none", "touch", "partial", "as-tolerated"])
def test_without_full_load_the_raises_are_offered_from_the_start(
    shipped: ScreenProtocol, order: str
) -> None:
    session = begun(("walking",), 34, weight_bearing=order)
    assert "straight-leg-raise-hold" in names(plan_battery(shipped, session.intake, 34))
    itinerary = Itinerary.of(shipped, session)
    assert itinerary.minutes_left == pytest.approx(total(plan_battery(shipped, session.intake, 34)))
    assert next_item(itinerary.states) == itinerary.item
    assert minutes_left(itinerary.states) == pytest.approx(itinerary.minutes_left)
