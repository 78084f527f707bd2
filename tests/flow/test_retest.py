"""A screen that follows an earlier one: what is asked anew, what comes first, what was found."""

from __future__ import annotations

from typing import Any

import pytest
from support import small_protocol as small

from screen_tui.trial.battery import Item, plan_battery
from screen_tui.trial.intake import form_again
from screen_tui.trial.itinerary import same_tests_first, values_then

TESTS = [
    small.test_spec("bend", load="unloaded"),
    small.test_spec("narrow", sides="both"),
    small.test_spec("stance"),
    small.test_spec("rises", sides="both"),
]
GATE = {
    "withhold": "stance",
    "after": "narrow",
    "when": {"measure": "value", "at_most": 9.0},
    "reason": "not safe yet",
    "source": "judgement",
}


def order(*done: dict[str, Any], gates: list[dict[str, Any]] | None = None) -> list[str]:
    whole = small.protocol(*TESTS, gates=gates or [])
    earlier = small.session(*done)
    items = same_tests_first(whole, plan_battery(whole, earlier.intake), earlier)
    assert sorted(items, key=str) == sorted(plan_battery(whole, earlier.intake), key=str)
    return list(dict.fromkeys(item.test for item in items))


def test_what_was_done_before_comes_first_in_the_order_of_the_battery() -> None:
    assert order() == ["bend", "narrow", "stance", "rises"]
    rises, stance = {"test": "rises", "value": 9.0}, {"test": "stance", "side": "left", "value": 5}
    assert order(rises, stance) == ["stance", "rises", "bend", "narrow"]
    assert order({**rises, "void": "disturbed"}) == ["bend", "narrow", "stance", "rises"]


def test_what_may_withhold_a_test_still_comes_before_it() -> None:
    stance = {"test": "stance", "side": "left", "value": 5}
    assert order(stance, gates=[GATE]) == ["narrow", "stance", "bend", "rises"]
    chained = [GATE, {**GATE, "withhold": "narrow", "after": "bend"}]
    assert order(stance, gates=chained) == ["bend", "narrow", "stance", "rises"]


def test_who_it_is_is_filled_in_and_what_may_have_changed_is_asked_anew() -> None:
    earlier = small.session(
        client={"label": "K-7", "age": 67, "sex": "male", "height_cm": 171.5},
        intake={
            "side": "left",
            "goals": ["walking", "stairs"],
            "weight_bearing": "touch",
            "recent_surgery_weeks": 3,
            "precautions": ["brace"],
            "complaints": ["pain"],
        },
    )
    form = form_again(small.protocol(*TESTS), earlier, earlier.started.date())
    assert form.answers == {
        "label": "K-7",
        "age": "67",
        "sex": "male",
        "height_cm": "171.5",
        "side": "left",
        "goals": ("walking", "stairs"),
        "weight_bearing": "touch",
        "recent_surgery_weeks": "3",
        "precautions": ("brace",),
        "complaints": ("pain",),
    }
    assert form.at == "clot"
    assert set(form.missing) == {"clot", "surgery"}, "its kind was not asked then"
    put = [row.id for row in form.rows()]
    assert not {"label", "age", "sex", "side", "goals", "alone_at_home"} & set(put)
    assert len(form.parts) == 2


def test_what_was_measured_is_shown_with_its_day_and_side() -> None:
    earlier = small.session({"test": "stance", "side": "left", "value": 6.24})
    told = values_then(small.protocol(*TESTS), earlier)
    assert told == {("stance", "left"): "On 2026-03-02: value 6.2 s"}


def test_nothing_is_shown_of_what_was_not_measured() -> None:
    skipped = {"test": "stance", "side": "left", "reason": "too painful"}
    assert values_then(small.protocol(*TESTS), small.session(skipped=[skipped])) == {}


@pytest.mark.parametrize("side", ["left", "right"])
def test_an_item_keeps_its_leg(side: str) -> None:
    whole = small.protocol(*TESTS)
    earlier = small.session({"test": "stance", "side": side, "value": 5})
    items = (Item("rises", None, 1), Item("stance", "right", 1), Item("stance", "left", 1))
    assert same_tests_first(whole, items, earlier) == (items[1], items[2], items[0])
