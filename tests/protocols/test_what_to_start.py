"""What is started for each driver: something for everybody, whole, and no generic advice.

Doses and progress are common practice, no source, but for the criteria named beside a test.
"""

from __future__ import annotations

from itertools import product

import pytest
from shipped_protocol import shipped

from screen_tui.fields import Goal, Load
from screen_tui.protocol.knowledge import Exercise

GOALS: tuple[Goal, ...] = ("walking", "chair", "floor", "stairs")
ALLOWED: dict[str, set[Load]] = {
    "no standing": {"unloaded"},
    "both legs": {"unloaded", "both-legs"},
    "all": {"unloaded", "both-legs", "one-leg", "floor"},
}


def exercises(driver: str, goal: Goal, loads: set[Load]) -> list[Exercise]:
    standing = "both-legs" in loads
    return [
        one
        for one in shipped().exercises
        if one.driver == driver
        and one.load in loads
        and not (standing and one.instead_of_standing)
        and (not one.goals or goal in one.goals)
    ]


@pytest.mark.parametrize("driver", [one.id for one in shipped().drivers])
@pytest.mark.parametrize("goal", GOALS)
def test_every_driver_has_a_start_for_every_goal_and_load(driver: str, goal: Goal) -> None:
    for allowed, loads in ALLOWED.items():
        found = exercises(driver, goal, loads)
        assert found, allowed
        if "both-legs" in loads:
            assert [one for one in found if one.load != "unloaded"], allowed


def test_waiting_for_leave_to_stand_is_shown_only_to_those_who_may_not() -> None:
    for one in shipped().exercises:
        said = "standing is allowed" in f"{one.progress_when} {one.progress_to}"
        assert said <= one.instead_of_standing, one.id


def test_every_start_has_a_dose_in_numbers_and_leads_to_something_else() -> None:
    for one in shipped().exercises:
        assert any(digit.isdigit() for digit in one.dose), one.id
        assert one.progress_to.rstrip(".") != one.name


def test_every_start_keeps_to_the_order_of_the_surgeon() -> None:
    silent = [
        one.id
        for one in shipped().exercises
        if not {"ordered", "limits", "allowed"} & set(words(one.stop))
    ]
    assert silent == []


def test_what_is_for_a_leg_without_weight_puts_none_on_its_foot() -> None:
    # A bridge, or a lean over both feet, presses the foot; both were once among these.
    for one in shipped().exercises:
        if one.load == "unloaded":
            text = f"{one.name} {one.position} {one.cue} {one.feel}".lower()
            pressing = ("bridge", "feet flat.", "onto the feet", "weight on both", "stand up")
            assert [word for word in pressing if word in text] == [], one.id


def test_work_on_both_legs_leads_to_one_leg_or_the_knees_only_where_that_is_allowed() -> None:
    for one in shipped().exercises:
        further = one.progress_to.lower()
        if one.load == "both-legs" and ("one leg" in further or "kneel" in further):
            assert "allowed" in further or "one leg may carry" in further, one.id


def test_nothing_tightens_a_repaired_extensor_mechanism_before_it_is_allowed() -> None:
    for exercise in ("quad-set-straight", "straight-leg-raise", "end-range-set"):
        (one,) = [known for known in shipped().exercises if known.id == exercise]
        assert "extensor mechanism until allowed" in one.stop
    for test in ("knee-extension", "quad-set", "straight-leg-raise-hold"):
        assert "extensor mechanism" in shipped().test(test).instructions.safety


def words(text: str) -> list[str]:
    return text.lower().replace(".", " ").replace(",", " ").replace(":", " ").split()


def test_the_raise_names_the_published_criterion_to_begin_loading() -> None:
    # Curr Rev Musculoskelet Med 2017, 10:328-345, table 3, after knee ligament surgery: lag below
    # 5 degrees with two crutches and the brace open, below 3 degrees without crutches. Ten raises
    # of ten seconds: common practice, no source.
    (raised,) = [one for one in shipped().exercises if one.id == "straight-leg-raise"]
    for part in ("Ten raises of ten seconds", "below 5 degrees with two crutches", "below 3"):
        assert part in raised.progress_when


def test_every_driver_says_what_to_test_again_and_when() -> None:
    for driver in shipped().drivers:
        assert driver.retest is not None
        assert {"visit", "week", "weeks"} & set(words(driver.retest)), driver.id


def test_no_two_starts_of_a_driver_fight_for_the_same_place() -> None:
    for driver, goal in product(shipped().drivers, GOALS):
        for loads in ALLOWED.values():
            orders = [one.order for one in exercises(driver.id, goal, loads)]
            assert len(orders) == len(set(orders)), (driver.id, goal, orders)
