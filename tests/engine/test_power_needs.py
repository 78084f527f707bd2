"""What power needs to be told at all: without it there is no result, rather than a guess."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import grade, measure, protocol, session, test_spec

RISES: dict[str, Any] = {
    "sides": "both",
    "timer": {"kind": "count-in-time", "window_s": 30.0, "min_split_s": 0.5},
    "measures": [measure("rise-power", id="power", unit="W/kg", decimals=2)],
}
FLIGHT: dict[str, Any] = {
    "sides": "both",
    "timer": {"kind": "steps", "steps": 9, "min_split_s": 0.2},
    "measures": [measure("stair-power", id="power", unit="W/kg", decimals=2)],
}
SEAT = {"id": "seat_cm", "label": "Seat", "usual": 43, "unit": "cm", "minimum": 30, "maximum": 60}
BODY = {"height_cm": 160, "mass_kg": 65}
STANDS = {"test": "rises", "value": 9}
UP = {"test": "stairs", "direction": "up", "steps": 9, "value": 5.0, "riser_cm": 20.0}


def power(spec: Any, trial: dict[str, Any], client: dict[str, Any]) -> float | None:
    results = grade(protocol(spec), session(trial, client=client))
    return next((result.value for result in results.values()), None)


def test_power_is_shown_where_all_of_it_is_known() -> None:
    # Nine rises of 37 cm at 0.9 of body weight in half of 30 s; nine steps of 20 cm in 5 s.
    rising = power(test_spec("rises", set_up=[SEAT], **RISES), STANDS, BODY)
    assert rising == pytest.approx(0.9 * 9.81 * 0.37 * 9 / 15)
    climbing = power(test_spec("stairs", **FLIGHT), UP, {"mass_kg": 65})
    assert climbing == pytest.approx(9.81 * 9 * 0.20 / 5)


@pytest.mark.parametrize(
    ("trial", "client"),
    [
        (STANDS, {"height_cm": 160}),
        (STANDS, {"mass_kg": 65}),
        (STANDS | {"value": None}, BODY),
        (STANDS | {"value": 0}, BODY),
        (STANDS | {"signs": ["hands-used"]}, BODY),
        (STANDS, BODY | {"height_cm": 120}),  # 17 cm of way up: too short to tell
    ],
)
def test_power_of_rising_is_left_out_where_something_is_missing(
    trial: dict[str, Any], client: dict[str, Any]
) -> None:
    assert power(test_spec("rises", set_up=[SEAT], **RISES), trial, client) is None


def test_power_of_rising_needs_the_height_of_the_seat() -> None:
    assert power(test_spec("rises", **RISES), STANDS, BODY) is None


@pytest.mark.parametrize(
    ("change", "client"),
    [
        ({}, {}),
        ({"direction": "down"}, BODY),
        ({"steps": None}, BODY),
        ({"riser_cm": None}, BODY),
        ({"value": None}, BODY),
        ({"value": 0.0}, BODY),
        ({"signs": ["handrail"]}, BODY),
    ],
)
def test_power_of_climbing_is_left_out_where_something_is_missing(
    change: dict[str, Any], client: dict[str, Any]
) -> None:
    spec = test_spec("stairs", **FLIGHT)
    assert power(spec, UP | change, client) is None
