"""What a reader is told about a trial that was done in another way, and what no line may judge."""

from __future__ import annotations

from itertools import permutations
from typing import Any

import pytest
from support.small_protocol import grade, line, measure, protocol, session, test_spec

from screen_tui.engine import assess
from screen_tui.protocol.tests import TestSpec

FLIGHT: dict[str, Any] = {
    "sides": "both",
    "timer": {"kind": "steps", "steps": 9, "min_split_s": 0.2},
    "measures": [measure("time-up", better="lower", over_trials="mean")],
}


def aid(usual: str) -> dict[str, Any]:
    return {"id": "aid", "label": "Aid", "usual": usual, "choices": ["none", "stick", "frame"]}


def walk(usual: str = "none", **more: Any) -> TestSpec:
    return test_spec(
        "walk",
        sides="both",
        signs=["walking-aid"],
        set_up=[aid(usual)],
        measures=[measure(better="lower", over_trials="mean")],
        **more,
    )


def walked(value: float, **more: Any) -> dict[str, Any]:
    return {"test": "walk", "value": value, **more}


def up(value: float, **more: Any) -> dict[str, Any]:
    return {"test": "stairs", "direction": "up", "value": value, **more}


def difference(spec: TestSpec, *trials: dict[str, Any]) -> str:
    """What was different about the only trial that is shown apart."""
    (told,) = assess(protocol(spec), session(*trials)).remarks
    return told.partition("another way (")[2].partition(")")[0]


def test_without_an_aid_is_named_so_where_one_is_usual() -> None:
    assert difference(walk("stick"), walked(8.0), walked(9.0, aid="none")) == "no aid"
    assert difference(walk(), walked(8.0), walked(9.0, aid="stick")) == "stick"


def test_hands_are_named_from_the_side_of_what_is_shown_apart() -> None:
    rises = test_spec(
        "rises",
        sides="both",
        timer={"kind": "count-in-time", "window_s": 30.0, "min_split_s": 0.5},
    )
    free, hands = (
        {"test": "rises", "value": v, "signs": s} for v, s in ((9, []), (0, ["hands-used"]))
    )
    assert difference(rises, free, hands) == "with hands"


def test_another_flight_is_named_by_its_steps() -> None:
    stairs = test_spec("stairs", **FLIGHT)
    assert difference(stairs, up(6.0, steps=9), up(5.0, steps=7)) == "7 steps"


def test_a_riser_is_named_by_its_height_or_as_not_noted() -> None:
    stairs = test_spec("stairs", **FLIGHT)
    sixteen = [up(6.0, riser_cm=16), up(6.2, riser_cm=16)]
    assert difference(stairs, *sixteen, up(7.0, riser_cm=18)) == "riser 18 cm"
    told = assess(protocol(stairs), session(*sixteen, up(7.0, riser_cm=18), up(8.0))).remarks
    assert any("(riser not recorded)" in one for one in told)


def test_of_two_flights_neither_of_which_is_usual_the_same_one_counts_in_any_order() -> None:
    stairs = test_spec("stairs", **FLIGHT)
    values = set()
    for trials in permutations([up(5.0, steps=7), up(3.0, steps=5), up(8.0, steps=12)]):
        (result,) = grade(protocol(stairs), session(*trials)).values()
        values.add(result.value)
    assert len(values) == 1


@pytest.mark.parametrize(
    ("trial", "standing"),
    [
        ({}, "short of the line"),
        ({"aid": "none"}, "short of the line"),
        ({"aid": "stick"}, "not judged"),
        # The sign was ticked, so there was an aid, whichever it was and whatever was noted.
        ({"signs": ["walking-aid"]}, "not judged"),
        ({"signs": ["walking-aid"], "aid": "none"}, "not judged"),
    ],
)
def test_a_line_for_walking_without_an_aid_does_not_judge_a_walk_with_one(
    trial: dict[str, Any], standing: str
) -> None:
    alone = line("value", "at most", 6.0, only_when=[{"id": "aid", "one_of": ["none"]}])
    (result,) = grade(protocol(walk(lines=[alone])), session(walked(8.0, **trial))).values()
    assert result.standing == standing
    told = "the test was set up in another way than the published cut-off asks for"
    assert result.why_not == (told if standing == "not judged" else "")
