"""Which trials and lines a number comes from, and what is said where there is none; by hand."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import grade, line, measure, protocol, session, test_spec

from screen_tui.engine.grade import ResultKey
from screen_tui.engine.measures import is_better_by, symmetry_percent, worse_by_percent
from screen_tui.engine.results import Result
from screen_tui.protocol.tests import ResultMeasure, TestSpec

KNEE: dict[str, Any] = {
    "timer": {
        "kind": "measure",
        "fields": [
            {"id": "passive_deg", "label": "p", "minimum": -30, "maximum": 90, "hint": "h"},
            {"id": "active_deg", "label": "a", "minimum": -30, "maximum": 90, "hint": "h"},
        ],
    }
}
FLIGHT: dict[str, Any] = {
    "sides": "both",
    "timer": {"kind": "steps", "steps": 9, "min_split_s": 0.2},
    "measures": [
        measure("time-up", id="up", better="lower"),
        measure("time-down", id="down", better="lower"),
    ],
}
EVEN, SLOWING = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0], [1.0, 2.0, 3.5, 5.0, 7.0, 9.0]


def stance(side: str, value: float | None, **more: Any) -> dict[str, Any]:
    return {"test": "stance", "side": side, "value": value, **more}


def graded(spec: TestSpec, *trials: dict[str, Any], **more: Any) -> dict[ResultKey, Result]:
    return dict(grade(protocol(spec, **more.pop("protocol", {})), session(*trials, **more)))


def only(results: dict[ResultKey, Result]) -> Result:
    (result,) = results.values()
    return result


# ------------------------------------------------------------------ between the sides


def test_symmetry_is_the_same_on_both_sides_when_one_trial_was_cut_short_by_pain() -> None:
    # Left: 10 in pain, 8 fair. Right: 20. Only the fair ones compare: 8 of 20 is 40 %.
    results = graded(
        test_spec("stance"),
        stance("left", 10.0, ended="pain"),
        stance("left", 8.0),
        stance("right", 20.0),
    )
    assert [result.symmetry_percent for result in results.values()] == [40.0, 40.0]


@pytest.mark.parametrize(
    "right", [{"ended": "pain"}, {"value": None}, {"cue": "level"}, {"void": "slipped"}]
)
def test_symmetry_needs_a_fair_plain_value_of_the_other_leg(right: dict[str, Any]) -> None:
    trials = [stance("left", 10.0), stance("right", 20.0) | right]
    results = graded(test_spec("stance"), *trials)
    assert {result.symmetry_percent for result in results.values()} == {None}


@pytest.mark.parametrize(("better", "percent"), [("higher", 40.0), ("lower", -40.0)])
def test_a_side_difference_is_a_share_of_the_other_side(better: str, percent: float) -> None:
    # 6 against 10: worse by 40 % where more is better, better by 40 % where less is.
    value = ResultMeasure.model_validate(measure(better=better))
    assert worse_by_percent(value, 6.0, 10.0) == pytest.approx(percent)
    assert worse_by_percent(value, 6.0, 0.0) is None
    assert worse_by_percent(value, 6.0, 1.0) is not None


def test_angles_and_nothing_have_no_symmetry() -> None:
    held = ResultMeasure.model_validate(measure())
    lag = ResultMeasure.model_validate(measure("lag", better="lower"))
    assert symmetry_percent(held, 5.0, 10.0) == 50.0
    assert symmetry_percent(lag, 5.0, 10.0) is None
    assert symmetry_percent(held, 0.0, 10.0) is None
    assert symmetry_percent(held, 10.0, 0.0) is None


@pytest.mark.parametrize(
    ("left", "right", "deficit"),
    [
        (4.0, None, 4.0),  # against straight, where the other knee was not measured
        (4.0, 2.0, 4.0),  # a stiff knee is no aim: straight stays the aim
        (4.0, -3.0, 7.0),
        (-6.0, -3.0, 0.0),
        (None, -3.0, None),
    ],
)
def test_a_deficit_is_short_of_straight_or_of_the_other_knee(
    left: float | None, right: float | None, deficit: float | None
) -> None:
    spec = test_spec("knee", measures=[measure("deficit", better="lower")], **KNEE)
    trials = [{"test": "knee", "side": "left", "passive_deg": left, "active_deg": 9.0}]
    if right is not None:
        trials.append({"test": "knee", "side": "right", "passive_deg": right})
    assert graded(spec, *trials)["knee", "left", "value"].value == deficit


@pytest.mark.parametrize("angles", [{"passive_deg": 2}, {"active_deg": 2}])
def test_a_lag_needs_both_angles(angles: dict[str, float]) -> None:
    spec = test_spec("knee", measures=[measure("lag", better="lower")], **KNEE)
    result = only(graded(spec, {"test": "knee", "side": "left", **angles}))
    assert (result.value, result.why_not) == (None, "no value was recorded")


# ------------------------------------------------------------------ within a series


def test_each_flight_has_the_slowing_of_its_own_steps() -> None:
    # Up: one second a step throughout. Down: 1, 1 and at last 2, 2 seconds: twice as long.
    results = graded(
        test_spec("stairs", **FLIGHT),
        {"test": "stairs", "direction": "up", "value": 6.0, "splits": EVEN},
        {"test": "stairs", "direction": "down", "value": 9.0, "splits": SLOWING},
    )
    assert results["stairs", None, "up"].slowing_percent == pytest.approx(0.0)
    assert results["stairs", None, "down"].slowing_percent == pytest.approx(100.0)


def test_power_is_shown_without_the_slowing_that_stands_beside_its_count() -> None:
    spec = test_spec(
        "rises",
        sides="both",
        timer={"kind": "count-in-time", "window_s": 30.0, "min_split_s": 0.5},
        set_up=[{"id": "seat_cm", "label": "Seat", "usual": 43, "unit": "cm", "minimum": 30,
                 "maximum": 60}],
        measures=[measure(), measure("rise-power", id="power")],
    )  # fmt: skip
    trial = {"test": "rises", "value": 6, "splits": SLOWING}
    results = graded(spec, trial, client={"height_cm": 160, "mass_kg": 65})
    assert results["rises", None, "value"].slowing_percent == pytest.approx(100.0)
    assert results["rises", None, "power"].slowing_percent is None


def test_the_lengths_of_holds_are_no_slowing() -> None:
    spec = test_spec("holds", timer={"kind": "repeat-hold", "holds": 6, "hold_s": 5.0})
    trial = {"test": "holds", "side": "left", "value": 6, "splits": SLOWING}
    assert only(graded(spec, trial)).slowing_percent is None


# ------------------------------------------------------------------ which line, which reference


def test_only_a_judging_line_of_the_same_measure_and_flight_judges() -> None:
    lines = [
        line("up", "at most", 1.0, id="flag", role="flag"),
        line("down", "at most", 2.0, id="other-measure"),
        line("up", "at most", 3.0, id="three-steps", only_steps=3),
        line("up", "at most", 8.0, id="this-one"),
    ]
    up = {"test": "stairs", "direction": "up", "value": 6.0, "steps": 9}
    result = graded(test_spec("stairs", lines=lines, **FLIGHT), up)["stairs", None, "up"]
    assert result.line is not None
    assert (result.line.id, result.standing) == ("this-one", "meets")
    assert [flag.id for flag in result.flags] == ["flag"]
    three = up | {"steps": 3}
    short = graded(test_spec("stairs", lines=lines, **FLIGHT), three)["stairs", None, "up"]
    assert short.line is not None
    assert (short.line.id, short.standing) == ("three-steps", "short of the line")


def test_a_result_that_is_not_judged_shows_no_line() -> None:
    spec = test_spec("stance", lines=[line("value", "at least", 10.0)])
    assert only(graded(spec, stance("left", 3.0, ended="pain"))).line is None
    assert only(graded(spec, stance("left", None))).line is None


def test_a_result_that_is_not_judged_is_not_short() -> None:
    spec = test_spec("stance", lines=[line("value", "at least", 10.0)])
    assert not only(graded(spec, stance("left", 3.0, ended="pain"))).short


def test_hands_spoil_only_chair_tests() -> None:
    spec = test_spec("stance", lines=[line("value", "at least", 10.0)])
    assert only(graded(spec, stance("left", 3.0, signs=["hands-used"]))).standing == (
        "short of the line"
    )


def test_where_no_line_is_published_the_tests_own_words_say_why() -> None:
    assert only(graded(test_spec("stance"), stance("left", 3.0))).why_not == "no published cut-off"
    own = test_spec("stance", not_judged_because="no two clinics do it alike")
    assert only(graded(own, stance("left", 3.0))).why_not == "no two clinics do it alike"
    flagged = test_spec("stance", lines=[line("value", "at least", 2.0, role="flag")])
    assert "only warn" in only(graded(flagged, stance("left", 3.0))).why_not


def test_the_sex_is_asked_for_only_where_it_would_help() -> None:
    limits = [
        {"sex": "female", "from_age": 60, "to_age": 69, "value": 10.0},
        {"sex": "male", "from_age": 60, "to_age": 69, "value": 12.0},
    ]
    spec = test_spec("stance", lines=[line("value", "at least", 0, limits=limits)])
    unknown = {"sex": "unspecified"}
    assert "sex" in only(graded(spec, stance("left", 3.0), client=unknown)).why_not
    younger = only(graded(spec, stance("left", 3.0), client=unknown | {"age": 40}))
    assert younger.why_not == "no published reference for age 40"
    known = only(graded(spec, stance("left", 3.0), client={"sex": "male", "age": 40}))
    assert known.why_not == "no published reference for age 40"
    of_men = test_spec("stance", lines=[line("value", "at least", 0, limits=limits[1:])])
    assert "sex" in only(graded(of_men, stance("left", 3.0), client=unknown)).why_not
    woman = only(graded(of_men, stance("left", 3.0), client={"sex": "female"}))
    assert woman.why_not == "no published reference for age 65"


SOURCES = [
    {"id": "judgement", "provenance": "clinical judgement", "title": "t"},
    {"id": "paper", "provenance": "published", "authors": "A", "year": 2000, "title": "t",
     "journal": "j"},
]  # fmt: skip


def reference(mean: float, source: str = "paper", **more: Any) -> dict[str, Any]:
    return {
        "measure": "value",
        "rows": [{"from_age": 60, "to_age": 69, "mean": mean, "sd": 2.0}],
        "population": "invented",
        "source": source,
        **more,
    }


def reference_beside(spec: TestSpec, *trials: dict[str, Any]) -> tuple[float, float | None]:
    found = next(iter(graded(spec, *trials, protocol={"sources": SOURCES}).values())).reference
    assert found is not None
    return found.mean, found.percentile


def test_a_published_reference_comes_before_another() -> None:
    spec = test_spec("stance", references=[reference(5.0, "judgement"), reference(10.0)])
    assert reference_beside(spec, stance("left", 10.0)) == (10.0, pytest.approx(50.0))


def test_a_percentile_is_the_share_that_does_worse_whichever_way_is_better() -> None:
    # One standard deviation above the mean: 84.13 % lie below it (standard normal table).
    spec = test_spec("stance", references=[reference(10.0)])
    assert reference_beside(spec, stance("left", 12.0))[1] == pytest.approx(84.13, abs=0.01)
    times = test_spec("stance", measures=[measure(better="lower")], references=[reference(10.0)])
    assert reference_beside(times, stance("left", 12.0))[1] == pytest.approx(15.87, abs=0.01)


def test_a_value_given_in_pain_or_with_hands_has_no_percentile() -> None:
    spec = test_spec("stance", references=[reference(10.0)])
    assert reference_beside(spec, stance("left", 12.0, ended="pain")) == (10.0, None)
    rises = test_spec(
        "stance",
        sides="both",
        timer={"kind": "count-in-time", "window_s": 30.0, "min_split_s": 0.5},
        references=[reference(10.0)],
    )
    trial = {"test": "stance", "value": 12, "signs": ["hands-used"]}
    assert reference_beside(rises, trial) == (10.0, None)


def test_a_reference_is_of_the_same_measure_and_flight() -> None:
    rows = [
        reference(1.0, measure="down"),
        reference(2.0, measure="up", only_steps=3),
        reference(3.0, measure="up"),
    ]
    spec = test_spec("stairs", references=rows, **FLIGHT)
    up = {"test": "stairs", "direction": "up", "value": 6.0}
    assert reference_beside(spec, up | {"steps": 9})[0] == 3.0
    assert reference_beside(spec, up | {"steps": 3})[0] == 2.0


def test_a_test_done_only_with_a_cue_has_no_result() -> None:
    assert graded(test_spec("stance"), stance("left", 3.0, cue="level")) == {}


# ------------------------------------------------------------------ single trials


def test_the_thirds_of_nine_repetitions_are_three_each() -> None:
    # 1, 1, 4 seconds at first (2 on average), 1, 1, 4 at last: as quick; four each would differ.
    spec = test_spec(
        "rises", sides="both", timer={"kind": "count-in-time", "window_s": 30, "min_split_s": 0.5}
    )
    splits = [1.0, 2.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 15.0]
    trial = {"test": "rises", "value": 9, "splits": splits}
    assert only(graded(spec, trial)).slowing_percent == pytest.approx(0.0)


def test_a_series_whose_first_third_took_no_time_tells_no_slowing() -> None:
    spec = test_spec(
        "rises", sides="both", timer={"kind": "count-in-time", "window_s": 30, "min_split_s": 0.5}
    )
    at_once = {"test": "rises", "value": 6, "splits": [0.0, 0.0, 1.0, 2.0, 3.0, 4.0]}
    assert only(graded(spec, at_once)).slowing_percent is None
    told = graded(spec, at_once, {"test": "rises", "value": 6, "splits": SLOWING})
    assert only(told).slowing_percent == pytest.approx(100.0)


@pytest.mark.parametrize(("value", "speed"), [(0.0, None), (None, None), (5.0, 0.8)])
def test_a_walk_of_no_time_has_no_speed(value: float | None, speed: float | None) -> None:
    spec = test_spec(
        "walk",
        sides="both",
        timer={"kind": "walk", "distance_m": 4.0, "start": "moving"},
        measures=[measure("speed", unit="m/s", decimals=2)],
    )
    assert only(graded(spec, {"test": "walk", "value": value})).value == speed


def test_each_flight_has_the_time_of_its_own_trial() -> None:
    results = graded(
        test_spec("stairs", **FLIGHT),
        {"test": "stairs", "direction": "up", "value": 6.0},
        {"test": "stairs", "direction": "down", "value": 9.0},
    )
    assert [results["stairs", None, way].value for way in ("up", "down")] == [6.0, 9.0]


def test_better_is_more_or_less_as_the_measure_says() -> None:
    more, less = (ResultMeasure.model_validate(measure(better=b)) for b in ("higher", "lower"))
    assert (is_better_by(more, 5.0, 7.0), is_better_by(less, 5.0, 7.0)) == (2.0, -2.0)
