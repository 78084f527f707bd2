"""Which tests a visit does without: those another covers, and those no result calls for."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import line, protocol, session, test_spec

from screen_tui.engine.conditions import Seen
from screen_tui.engine.offered import covered_by, not_called_for, why_not_offered
from screen_tui.protocol.model import ScreenProtocol

TESTS = [
    test_spec("first", lines=[line("value", "at least", 10.0)]),
    test_spec("one", load="unloaded"),
    test_spec("two", sides="both"),
]
SHORT = {"measure": "value", "standing": "short of the line"}
WHY = "nothing called for it"


def battery(**of_items: dict[str, Any]) -> ScreenProtocol:
    """The three tests, each with what is given of its item."""
    items = [{"test": spec.id, **of_items.get(spec.id, {})} for spec in TESTS]
    return protocol(*TESTS, battery={"id": "small", "name": "Small", "items": items})


def covering(whole: ScreenProtocol, test: str, **about: Any) -> str:
    item = next(one for one in whole.battery.items if one.test == test)
    intake = session(intake={"goals": about.pop("goals", [])}).intake
    return covered_by(whole, intake, item, about.pop("age", 65), **about)


def test_a_test_gives_way_to_the_one_that_is_instead_of_it_wherever_that_comes() -> None:
    later = battery(two={"instead_of": ["first"]})
    assert [covering(later, test) for test in ("first", "one", "two")] == ["two", "", ""]
    earlier = battery(first={"instead_of": ["two"]})
    assert [covering(earlier, test) for test in ("first", "one", "two")] == ["", "", "first"]


def test_of_two_that_name_each_other_the_earlier_is_offered_to_those_it_is_for() -> None:
    whole = battery(
        first={"instead_of": ["two"], "goals": ["chair"], "or_below_age": 60},
        two={"instead_of": ["first"]},
    )
    for about in ({"goals": ["chair"]}, {"age": 59}):
        assert covering(whole, "two", **about) == "first"
        assert covering(whole, "first", **about) == ""
    for about in ({"goals": ["walking"], "age": 60}, {"age": None}):
        assert covering(whole, "two", **about) == ""
        assert covering(whole, "first", **about) == "two"


def test_only_what_is_offered_itself_covers_another() -> None:
    for_stairs = battery(first={"instead_of": ["two"], "goals": ["stairs"]})
    assert covering(for_stairs, "two", goals=["chair"]) == ""
    asked = battery(first={"instead_of": ["two"], "when_asked": True})
    assert covering(asked, "two") == ""
    assert covering(asked, "two", chosen={"first"}) == "first"
    whole = battery(first={"instead_of": ["two"]})
    one_leg = {("first", "left"): "unsafe"}
    assert covering(whole, "two", withheld=one_leg) == "first"
    assert covering(whole, "two", withheld={**one_leg, ("first", "right"): "unsafe"}) == ""
    loaded = session(intake={"weight_bearing": "none"}).intake
    assert covered_by(whole, loaded, whole.battery.items[2], 65) == ""


def test_the_reason_names_the_test_in_its_place_before_the_goals() -> None:
    whole = battery(first={"instead_of": ["two"]}, two={"goals": ["chair"]})
    intake = session(intake={"goals": ["stairs"]}).intake
    assert why_not_offered(whole, intake, whole.battery.items[2], 65) == "covered by the first"
    alone = battery(two={"goals": ["chair"], "or_below_age": 60})
    told = why_not_offered(alone, intake, alone.battery.items[2], 65)
    assert told == ("meant for the goal chair, which was not named, or for people below 60")
    assert why_not_offered(alone, intake, alone.battery.items[2], 59) == ""


def uncalled(*trials: dict[str, Any], test: str = "one", **more: Any) -> dict[str | None, str]:
    """The sides on which the test is not called for after a short result of the first."""
    rule = {
        "any_of": [
            {"test": "first", "when": SHORT},
            {"test": "first", "when": {"signs_any": ["unsteady"]}},
        ],
        "or_without_full_load": more.pop("or_without_full_load", False),
        "otherwise": WHY,
        "source": "judgement",
    }
    whole, made = battery(**{test: {"only_if": rule}}), session(*trials, **more)
    found = not_called_for(whole, made.intake, Seen.of(whole, made))
    assert {name for name, _ in found} <= {test}
    return {side: reason for (_, side), reason in found.items()}


def first(value: float, side: str = "left", **more: Any) -> dict[str, Any]:
    return {"test": "first", "side": side, "value": value, **more}


def test_before_the_test_that_decides_it_is_not_known_whether_another_is_called_for() -> None:
    assert uncalled() == {"left": "", "right": ""}
    assert uncalled(first(20.0, void="slip")) == {"left": "", "right": ""}


@pytest.mark.parametrize("found", [{"value": 2.0}, {"value": 20.0, "signs": ("unsteady",)}])
def test_any_of_the_results_calls_for_it_on_that_leg(found: dict[str, Any]) -> None:
    assert uncalled(first(**found)) == {"right": ""}
    assert uncalled(first(**found), first(20.0, "right")) == {"right": WHY}
    assert uncalled(first(20.0), first(**found, side="right")) == {"left": WHY}


def test_either_leg_calls_for_what_both_do() -> None:
    assert uncalled(first(2.0), test="two") == {}
    assert uncalled(first(20.0), test="two") == {None: WHY}


@pytest.mark.parametrize(
    ("intake", "waits"),
    [
        ({"weight_bearing": "full"}, True),
        ({"weight_bearing": "as-tolerated"}, False),
        ({"weight_bearing": "as-tolerated", "one_leg_confirmed": True}, True),
        ({"weight_bearing": "none"}, False),
    ],
)
def test_who_may_not_put_full_load_on_one_leg_needs_no_result(
    intake: dict[str, Any], waits: bool
) -> None:
    assert bool(uncalled(first(20.0), intake=intake, or_without_full_load=True)) is waits
    assert uncalled(first(20.0), intake=intake)["left"] == WHY
