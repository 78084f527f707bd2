"""Trials that cannot be as they stand are said aloud and never used."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import measure, protocol, session, test_spec

from screen_tui.engine.assess import assess
from screen_tui.engine.observe import contradiction
from screen_tui.session.model import Trial

HOLD = test_spec("stance")
RISES = test_spec(
    "rises",
    sides="both",
    timer={"kind": "time-for-count", "count": 5, "min_split_s": 0.5, "end_point": "sit"},
    plausible={"minimum": 2, "maximum": 120},
)
STAIRS = test_spec(
    "stairs",
    sides="both",
    timer={"kind": "steps", "steps": 9, "min_split_s": 0.15},
    plausible={"minimum": 0.3, "maximum": 300},
    measures=[measure("time-up", better="lower")],
)


@pytest.mark.parametrize(
    ("spec", "trial", "told"),
    [
        (HOLD, {"value": 45.1}, "45.1 is outside 0 to 45"),
        (HOLD, {"value": 45}, ""),
        (RISES, {"value": 2.4}, "2.4 s is less than 2.5 s"),
        (RISES, {"value": 2.5}, ""),
        # Nine steps of 0.15 s; three would be done in 0.45 s.
        (STAIRS, {"value": 0.5, "direction": "up"}, "0.5 s is less than 1.35 s"),
        (STAIRS, {"value": 0.5, "direction": "up", "steps": 3}, ""),
        (STAIRS, {"value": 0.4, "direction": "down", "steps": 3}, "0.4 s is less than 0.45 s"),
        (HOLD, {"passive_deg": 8, "active_deg": 4}, "4 degrees better than passive"),
        (HOLD, {"passive_deg": 8, "active_deg": 5}, ""),
    ],
)
def test_what_cannot_be_is_shown(spec: Any, trial: dict[str, Any], told: str) -> None:
    found = contradiction(spec, Trial(test=spec.id, **trial))
    assert (told in found) if told else found == ""


def test_a_trial_that_cannot_be_is_remarked_on_and_gives_no_result() -> None:
    too_fast = {"test": "stairs", "value": 0.5, "direction": "up", "steps": 9}
    found = assess(protocol(STAIRS), session(too_fast))
    assert found.results == ()
    assert any("was not used: 0.5 s is less than 1.35 s" in remark for remark in found.remarks)


def test_a_struck_out_trial_that_cannot_be_is_not_remarked_on() -> None:
    too_fast = {"test": "stairs", "value": 0.5, "direction": "up", "steps": 9}
    struck = assess(protocol(STAIRS), session(too_fast | {"void": "counted too early"}))
    assert struck.remarks == ()


@pytest.mark.parametrize(("degrees", "used"), [(5, True), (0, True), (-5, True), (-11, False)])
def test_an_angle_beyond_straight_is_below_nought_and_no_time(degrees: float, used: bool) -> None:
    field = {"id": "value", "label": "Bend", "minimum": -10, "maximum": 60, "hint": "degrees"}
    ankle = test_spec(
        "ankle",
        timer={"kind": "measure", "fields": [field]},
        plausible={"minimum": -10, "maximum": 60},
        measures=[measure(unit="deg")],
    )
    found = assess(protocol(ankle), session({"test": "ankle", "side": "left", "value": degrees}))
    assert [one.value for one in found.results] == ([degrees] if used else [])
    assert len(found.remarks) == (not used)
