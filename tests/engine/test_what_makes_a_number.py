"""Which trial a number is taken from, and whose set-up, hands and other leg it looks at."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import grade, line, measure, protocol, session, test_spec

from screen_tui.engine.results import Result
from screen_tui.protocol.tests import TestSpec

SEAT = {"id": "seat_cm", "label": "Seat", "usual": 43, "unit": "cm", "minimum": 30, "maximum": 60}
STEP = {"id": "step_cm", "label": "Step", "usual": 20, "unit": "cm", "minimum": 5, "maximum": 30}
AID = {"id": "aid", "label": "Aid", "usual": "none", "choices": ["none", "stick", "frame"]}
CHAIR: dict[str, Any] = {
    "sides": "both",
    "timer": {"kind": "count-in-time", "window_s": 30.0, "min_split_s": 0.5},
}
EVEN, SLOWING = (2.0, 4.0, 6.0, 8.0, 10.0, 12.0), (1.0, 2.0, 3.0, 4.0, 6.0, 8.0)
PAPER = {"id": "paper", "provenance": "published", "authors": "A", "year": 2000, "title": "t",
         "journal": "j"}  # fmt: skip
JUDGEMENT = {"id": "judgement", "provenance": "clinical judgement", "title": "t"}


def results(spec: TestSpec, *trials: dict[str, Any], **client: Any) -> dict[str, Result]:
    """Every result of one two-legged test or of the left leg, by its measure."""
    made = session(*trials, client=client)
    found = grade(protocol(spec, sources=[JUDGEMENT, PAPER]), made)
    return {name: one for (_, side, name), one in found.items() if side in (None, "left")}


def left(value: float | None, **more: Any) -> dict[str, Any]:
    return {"test": "stance", "side": "left", "value": value, **more}


@pytest.mark.parametrize(
    ("over_trials", "better", "value"),
    [
        ("best", "higher", 9.0),
        ("best", "lower", 3.0),
        ("mean", "higher", 6.0),
        ("first", "lower", 3.0),
        ("last", "higher", 6.0),
        ("worst", "higher", 3.0),
        ("worst", "lower", 9.0),
    ],
)
def test_the_measure_says_which_of_its_trials_counts(
    over_trials: str, better: str, value: float
) -> None:
    spec = test_spec("stance", measures=[measure(over_trials=over_trials, better=better)])
    result = results(spec, left(3.0), left(9.0), left(6.0))["value"]
    assert (result.value, result.trials) == (value, (3.0, 9.0, 6.0))


def test_each_part_of_the_set_up_has_its_own_usual_value() -> None:
    # 65 kg and 1.60 m: nine rises of 80 - 43 = 37 cm in 15 s of the 30, whatever else is noted.
    power = measure("rise-power", id="power", unit="W/kg", decimals=2)
    for set_up in ([SEAT, AID], [AID, SEAT], [STEP, SEAT]):
        spec = test_spec("rises", measures=[power], set_up=set_up, **CHAIR)
        found = results(spec, {"test": "rises", "value": 9}, height_cm=160, mass_kg=65)
        assert found["power"].value == pytest.approx(0.9 * 9.81 * 0.37 * 9 / 15)


def test_only_a_walk_has_a_speed() -> None:
    spec = test_spec("stance", measures=[measure("speed", unit="m/s")])
    assert results(spec, left(5.0))["value"].value is None


def test_hands_are_the_reason_also_where_they_left_no_value() -> None:
    spec = test_spec("rises", lines=[line("value", "at least", 8.0)], **CHAIR)
    with_hands = {"test": "rises", "value": None, "signs": ["hands-used"]}
    assert results(spec, with_hands)["value"].why_not == "hands were used"
    without = with_hands | {"signs": []}
    assert results(spec, without)["value"].why_not == "no value was recorded"


def test_slowing_with_hands_is_not_mixed_into_slowing_without() -> None:
    # Two seconds a rise throughout without hands; with hands 1 s at first and 2 s at last.
    spec = test_spec("rises", **CHAIR)
    free = {"test": "rises", "value": 6, "splits": EVEN}
    hands = {"test": "rises", "value": 0, "splits": SLOWING, "signs": ["hands-used"]}
    assert results(spec, free, hands)["value"].slowing_percent == pytest.approx(0.0)
    assert results(spec, hands)["value"].slowing_percent == pytest.approx(100.0)


def test_both_legs_at_once_have_no_other_leg_to_be_compared_with() -> None:
    spec = test_spec("stance", sides="both")
    assert results(spec, {"test": "stance", "value": 12.0})["value"].symmetry_percent is None


def test_the_seat_that_one_measure_asks_for_says_nothing_about_another() -> None:
    # Twelve is the mean of the sample, so half of it does worse: with any seat for the first
    # measure, which no line restricts, and for the second from 41 to 45 cm only.
    seats = [{"id": "seat_cm", "minimum": 41, "maximum": 45}]
    references = [
        {
            "measure": name,
            "rows": [{"from_age": 60, "to_age": 69, "mean": 12.0, "sd": 3.0}],
            "population": "invented",
            "source": "paper",
        }
        for name in ("first", "second")
    ]
    spec = test_spec(
        "rises",
        measures=[measure(id="first"), measure(id="second")],
        lines=[line("first", "at least", 8.0), line("second", "at least", 8.0, only_when=seats)],
        references=references,
        set_up=[SEAT],
        **CHAIR,
    )

    def percentiles(seat: float) -> list[float | None]:
        found = results(spec, {"test": "rises", "value": 12, "seat_cm": seat})
        return [one.reference.percentile for one in found.values() if one.reference]

    assert percentiles(45) == [pytest.approx(50.0), pytest.approx(50.0)]
    assert percentiles(50) == [pytest.approx(50.0), None]
