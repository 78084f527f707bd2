"""A test's file that asks of the set-up, or of a calculation, what it does not give is refused."""

from __future__ import annotations

from typing import Any

import pytest
from shipped_protocol import shipped

from screen_tui.protocol.checks_of_test import mismatches_in_test
from screen_tui.protocol.tests import TestSpec


def changed(test: str, **changes: Any) -> TestSpec:
    data = shipped().test(test).model_dump()
    return TestSpec.model_validate({**data, **changes})


def mismatches(spec: TestSpec) -> list[tuple[tuple[str | int, ...], str]]:
    return list(mismatches_in_test(spec))


def with_first_line(test: str, only_when: list[dict[str, object]]) -> TestSpec:
    first, *rest = (one.model_dump() for one in shipped().test(test).lines)
    return changed(test, lines=[{**first, "only_when": only_when}, *rest])


def test_the_shipped_files_ask_for_nothing_that_is_missing() -> None:
    assert [(spec.id, one) for spec in shipped().tests for one in mismatches(spec)] == []


@pytest.mark.parametrize(
    ("only_when", "place", "words"),
    [
        ([{"id": "step_cm", "minimum": 20}], ("lines", 0, "only_when", 0, "id"), "no set-up"),
        ([{"id": "seat_cm", "minimum": 50}], ("lines", 0, "only_when", 0), "leaves out the usual"),
        (
            [{"id": "footwear", "one_of": ["shoes", "boots"]}],
            ("lines", 0, "only_when", 0, "one_of"),
            "no choice",
        ),
    ],
)
def test_a_line_may_only_depend_on_what_is_noted(
    only_when: list[dict[str, object]], place: tuple[str | int, ...], words: str
) -> None:
    found = mismatches(with_first_line("chair-stands-30s", only_when))
    assert [(path, words in reason) for path, reason in found] == [(place, True)]


def test_a_set_up_noted_twice_is_named() -> None:
    noted = [one.model_dump() for one in shipped().test("walk-4m").set_up]
    found = mismatches(changed("walk-4m", set_up=[*noted, noted[0]]))
    assert (("set_up", 2, "id"), "is given twice") in found


def test_power_of_rising_needs_the_seat_and_whole_cycles() -> None:
    spec = shipped().test("five-chair-stands")
    no_seat = changed(spec.id, set_up=[], lines=[])
    assert any('"seat_cm"' in reason for _, reason in mismatches(no_seat))
    standing = changed(spec.id, timer={**spec.timer.model_dump(), "end_point": "stand"})
    assert any("stops in standing" in reason for _, reason in mismatches(standing))
    power = [one.model_dump() for one in spec.measures if one.taken_from == "rise-power"]
    walk = [one.model_dump() for one in shipped().test("walk-4m").measures]
    assert any(
        "counts no rises" in reason
        for _, reason in mismatches(changed("walk-4m", measures=[*walk, *power]))
    )


def test_power_of_climbing_needs_a_flight_and_its_riser() -> None:
    no_riser = changed("stair-steps", set_up=[])
    assert any('"riser_cm"' in reason for _, reason in mismatches(no_riser))
    climb = [
        one.model_dump()
        for one in shipped().test("stair-steps").measures
        if one.taken_from == "stair-power"
    ]
    walk = [one.model_dump() for one in shipped().test("walk-4m").measures]
    assert any(
        'not "steps"' in reason
        for _, reason in mismatches(changed("walk-4m", measures=[*walk, *climb]))
    )
