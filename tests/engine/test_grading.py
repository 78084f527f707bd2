"""Each number against its line: near, short, not judged and why, symmetry, slowing."""

from __future__ import annotations

import pytest
from support.small_protocol import (
    error,
    grade,
    line,
    measure,
    protocol,
    session,
    test_spec,
)

from screen_tui.engine.results import Result
from screen_tui.protocol.tests import TestSpec


def stance(**more: object) -> TestSpec:
    return test_spec("stance", lines=[line("value", "at least", 10.0)], errors=[error()], **more)


def graded(spec: TestSpec, *trials: dict[str, object], **more: object) -> Result:
    results = grade(protocol(spec), session(*trials, **more))
    return next(iter(results.values()))


def left(value: float | None, **more: object) -> dict[str, object]:
    return {"test": "stance", "side": "left", "value": value, **more}


@pytest.mark.parametrize(
    ("value", "standing", "short"),
    [
        (12.0, "meets", False),
        (11.9, "near the line", False),
        (10.0, "near the line", False),
        (9.9, "near the line", True),
        (8.1, "near the line", True),
        (8.0, "short of the line", True),
    ],
)
def test_within_the_standard_error_a_result_is_near_and_keeps_its_side(
    value: float, standing: str, short: bool
) -> None:
    result = graded(stance(), left(value))
    assert (result.standing, result.short) == (standing, short)


@pytest.mark.parametrize("kind", ["floor", "risk", "limit of a mean"])
@pytest.mark.parametrize(
    ("value", "standing"),
    [
        (12.0, "not judged"),
        (10.0, "not judged"),
        (9.9, "near the line"),
        (8.0, "short of the line"),
    ],
)
def test_a_line_that_the_ill_pass_too_judges_only_what_is_short_of_it(
    kind: str, value: float, standing: str
) -> None:
    spec = test_spec("stance", lines=[line("value", "at least", 10.0, kind=kind)], errors=[error()])
    result = graded(spec, left(value))
    assert result.standing == standing
    assert result.line is not None
    assert ("meeting it says nothing" in result.why_not) == (standing == "not judged")


@pytest.mark.parametrize(("age", "standing"), [(65, "near the line"), (66, "meets")])
def test_an_error_says_nothing_of_people_it_was_not_measured_in(age: int, standing: str) -> None:
    spec = test_spec("stance", lines=[line("value", "at least", 10.0)], errors=[error(to_age=65)])
    assert graded(spec, left(11.0), client={"age": age}).standing == standing


def test_the_best_a_test_can_give_is_not_near() -> None:
    spec = test_spec("stance", lines=[line("value", "at least", 45.0)], errors=[error()])
    assert graded(spec, left(45.0)).standing == "meets"
    assert graded(spec, left(44.0)).standing == "near the line"


def test_the_best_fair_trial_stands_for_the_test() -> None:
    result = graded(stance(), left(3.0), left(14.0), left(5.0))
    assert result.value == 14.0
    assert result.trials == (3.0, 14.0, 5.0)


def test_a_struck_out_trial_has_no_effect() -> None:
    assert graded(stance(), left(3.0), left(40.0, void="touched the rail")).value == 3.0


def test_a_cued_repeat_does_not_stand_for_the_test() -> None:
    assert graded(stance(), left(3.0), left(40.0, cue="pelvis-level")).value == 3.0


def test_a_trial_that_pain_limited_gives_way_to_a_fair_one() -> None:
    assert graded(stance(), left(30.0, ended="pain"), left(12.0)).value == 12.0


def test_when_pain_limited_every_trial_nothing_is_judged() -> None:
    result = graded(stance(), left(3.0, ended="pain"))
    assert result.standing == "not judged"
    assert result.why_not == "pain limited every trial"
    assert result.value == 3.0


@pytest.mark.parametrize("age", [59, 70])
def test_an_age_outside_the_table_is_not_judged_by_the_nearest_band(age: int) -> None:
    result = graded(stance(), left(3.0), client={"age": age})
    assert result.standing == "not judged"
    assert result.why_not == f"no published reference for age {age}"
    assert result.line is None


def test_without_a_sex_a_table_by_sex_does_not_judge_and_says_so() -> None:
    limits = [
        {"sex": "female", "from_age": 60, "to_age": 69, "value": 10.0},
        {"sex": "male", "from_age": 60, "to_age": 69, "value": 12.0},
    ]
    spec = test_spec("stance", lines=[line("value", "at least", 0, limits=limits)])
    result = graded(spec, left(3.0), client={"sex": "unspecified"})
    assert "sex was not specified" in result.why_not
    assert graded(spec, left(11.0), client={"sex": "male"}).short
    assert not graded(spec, left(11.0), client={"sex": "female"}).short


def test_hands_used_in_a_chair_test_leave_it_unjudged() -> None:
    spec = test_spec(
        "rises",
        sides="both",
        timer={"kind": "time-for-count", "count": 5, "min_split_s": 0.5, "end_point": "sit"},
        lines=[line("value", "at most", 11.4)],
        measures=[measure(better="lower")],
    )
    result = graded(spec, {"test": "rises", "value": 9.0, "signs": ["hands-used"]})
    assert result.why_not == "hands were used"


def test_a_flag_is_raised_beside_the_standing() -> None:
    lines = [
        line("value", "at least", 10.0),
        line("value", "at least", 5.0, id="falls", role="flag"),
    ]
    spec = test_spec("stance", lines=lines)
    assert [flag.id for flag in graded(spec, left(4.9)).flags] == ["falls"]
    assert graded(spec, left(5.0)).flags == ()


def test_deficit_is_against_the_other_knee_including_overextension() -> None:
    # Worked example: other knee 5 degrees beyond straight, this one 2 short of it, deficit 7
    # (grades of the international knee form, IKDC 2000, compare the two knees).
    spec = test_spec(
        "knee",
        timer={
            "kind": "measure",
            "fields": [
                {"id": "passive_deg", "label": "p", "minimum": -30, "maximum": 90, "hint": "h"}
            ],
        },
        measures=[
            measure("deficit", id="deficit", better="lower"),
            measure("lag", id="lag", better="lower"),
        ],
    )
    results = grade(
        protocol(spec),
        session(
            {"test": "knee", "side": "left", "passive_deg": 2, "active_deg": 10},
            {"test": "knee", "side": "right", "passive_deg": -5, "active_deg": -5},
        ),
    )
    assert results["knee", "left", "deficit"].value == 7
    assert results["knee", "left", "lag"].value == 8
    assert results["knee", "right", "deficit"].value == 0


def test_two_stiff_knees_do_not_excuse_each_other() -> None:
    spec = test_spec("knee", measures=[measure("deficit", better="lower")])
    results = grade(
        protocol(spec),
        session(
            {"test": "knee", "side": "left", "passive_deg": 10},
            {"test": "knee", "side": "right", "passive_deg": 8},
        ),
    )
    assert [result.value for result in results.values()] == [10, 8]


def test_speed_is_distance_over_time() -> None:
    # 4 m in 4.6 s is 0.87 m/s.
    spec = test_spec(
        "walk",
        sides="both",
        timer={"kind": "walk", "distance_m": 4.0, "start": "moving"},
        measures=[measure("speed", unit="m/s", decimals=2)],
    )
    result = graded(spec, {"test": "walk", "value": 4.6})
    assert result.value == pytest.approx(0.87, abs=0.005)


def test_points_take_the_most_of_each_group() -> None:
    # Arms 1 + pelvis 1 + knee inside the foot 2 = 4; the two knee items never add up
    # (lateral step-down, Piva 2006, BMC Musculoskelet Disord 7:33).
    groups = [{"arms-move": 1}, {"pelvis-drops": 1}, {"knee-moves-in": 1, "knee-past-foot": 2}]
    spec = test_spec(
        "step",
        timer={"kind": "quality", "repetitions": 5},
        measures=[measure("points", better="lower")],
        points={"source": "judgement", "groups": groups},
    )
    signs = ["arms-move", "pelvis-drops", "knee-moves-in", "knee-past-foot"]
    assert graded(spec, {"test": "step", "side": "left", "signs": signs}).value == 4
    assert graded(spec, {"test": "step", "side": "left", "signs": []}).value == 0


@pytest.mark.parametrize(
    ("trial", "standing", "words"),
    [
        ({"watched": True}, "meets", ""),
        ({}, "not judged", ">= 0 of 6"),
        ({"signs": ["arms-move"]}, "not judged", ">= 1 of 6"),
        ({"watched": True, "ended": "fear"}, "not judged", ">= 0 of 6"),
        ({"watched": True, "repetitions": 5}, "meets", ""),
        ({"watched": True, "repetitions": 1}, "not judged", ">= 0 of 6"),
        # More signs could only make it worse still.
        ({"signs": ["arms-move", "unsteady"]}, "short of the line", ""),
    ],
)
def test_points_meet_a_cut_off_only_where_all_was_watched(
    trial: dict[str, object], standing: str, words: str
) -> None:
    spec = test_spec(
        "step",
        timer={"kind": "quality", "repetitions": 5},
        measures=[measure("points", better="lower", unit="of 6")],
        points={"source": "judgement", "groups": [{"arms-move": 1}, {"unsteady": 1}]},
        lines=[line("value", "at most", 1.0)],
    )
    result = graded(spec, {"test": "step", "side": "left", **trial})
    assert (result.standing, result.in_words) == (standing, words)


def test_symmetry_is_the_worse_side_over_the_better() -> None:
    # 17 against 25 is 68 % and, for times, 9 against 12 is 75 %.
    higher = grade(
        protocol(stance()), session(left(17.0), {"test": "stance", "side": "right", "value": 25.0})
    )
    assert {result.symmetry_percent for result in higher.values()} == {68.0}
    lower_is_better = test_spec("stance", measures=[measure(better="lower")])
    times = grade(
        protocol(lower_is_better),
        session(left(12.0), {"test": "stance", "side": "right", "value": 9.0}),
    )
    assert {result.symmetry_percent for result in times.values()} == {75.0}


def test_symmetry_is_silent_at_the_cap() -> None:
    results = grade(
        protocol(stance()), session(left(20.0), {"test": "stance", "side": "right", "value": 45.0})
    )
    assert {result.symmetry_percent for result in results.values()} == {None}


def test_slowing_compares_the_last_third_with_the_first() -> None:
    spec = test_spec(
        "rises",
        sides="both",
        timer={"kind": "count-in-time", "window_s": 30.0, "min_split_s": 0.5},
        measures=[measure(unit="stands")],
    )
    # Two seconds each, then two and a half each: a quarter slower.
    splits = [2.0, 4.0, 6.25, 8.5, 11.0, 13.5]
    assert graded(spec, {"test": "rises", "value": 6, "splits": splits}).slowing_percent == (
        pytest.approx(25.0)
    )
    assert graded(spec, {"test": "rises", "value": 5, "splits": splits[:5]}).slowing_percent is None


def test_percentile_comes_from_published_mean_and_sd_only_below_a_ceiling() -> None:
    def with_reference(**more: object) -> TestSpec:
        row = {"from_age": 60, "to_age": 69, "mean": 12.9, "sd": 3.6}
        reference = {
            "measure": "value",
            "rows": [row],
            "population": "invented",
            "source": "paper",
            **more,
        }
        return test_spec("stance", references=[reference])

    paper = {
        "id": "paper",
        "provenance": "published",
        "authors": "A",
        "year": 2000,
        "title": "t",
        "journal": "j",
    }
    judgement = {"id": "judgement", "provenance": "clinical judgement", "title": "t"}

    def percentile(spec: TestSpec, provenance: str = "published") -> float | None:
        sources = [paper | {"provenance": provenance}, judgement]
        results = grade(protocol(spec, sources=sources), session(left(9.0)))
        reference = next(iter(results.values())).reference
        assert reference is not None
        return reference.percentile

    # z = (9 - 12.9) / 3.6 = -1.083; the standard normal table gives .1394 for it.
    assert percentile(with_reference()) == pytest.approx(13.94, abs=0.05)
    assert percentile(with_reference(no_percentile_because="the full time was reached")) is None
    assert percentile(with_reference(), "from memory") is None


CHAIR = {
    "sides": "both",
    "timer": {"kind": "count-in-time", "window_s": 30.0, "min_split_s": 0.5},
    "set_up": [
        {"id": "seat_cm", "label": "Seat", "usual": 43, "unit": "cm", "minimum": 30, "maximum": 60}
    ],
}
POWER = measure("rise-power", id="power", unit="W/kg", decimals=2)


def test_power_of_rising_needs_height_and_mass_and_takes_the_noted_seat() -> None:
    # 65 kg, 1.60 m, nine stands in 30 s: 1.96 W/kg from 43 cm and 1.85 from 45 cm.
    spec = test_spec("rises", measures=[POWER], **CHAIR)
    trial = {"test": "rises", "value": 9}
    body = {"height_cm": 160, "mass_kg": 65}
    assert graded(spec, trial, client=body).value == pytest.approx(1.96, abs=0.005)
    high = graded(spec, trial | {"seat_cm": 45}, client=body)
    assert high.value == pytest.approx(1.85, abs=0.005)
    assert grade(protocol(spec), session(trial)) == {}


def test_a_line_holds_only_for_the_set_up_it_was_measured_with() -> None:
    only = [{"id": "seat_cm", "minimum": 41, "maximum": 45}]
    spec = test_spec("rises", lines=[line("value", "at least", 10, only_when=only)], **CHAIR)
    usual = graded(spec, {"test": "rises", "value": 8})
    assert usual.standing == "short of the line"
    assert graded(spec, {"test": "rises", "value": 8, "seat_cm": 45}).short
    high = graded(spec, {"test": "rises", "value": 8, "seat_cm": 50})
    assert high.standing == "not judged"
    assert "set up in another way" in high.why_not


def test_a_flag_stands_also_where_no_line_judges_but_not_in_pain() -> None:
    spec = test_spec("stance", lines=[line("value", "at least", 5.0, id="falls", role="flag")])
    assert [flag.id for flag in graded(spec, left(4.9)).flags] == ["falls"]
    assert graded(spec, left(4.9, ended="pain")).flags == ()
    assert "only warn" in graded(spec, left(6.0)).why_not


def test_a_hold_given_up_for_fear_measured_nothing() -> None:
    result = graded(stance(), left(2.0, ended="fear"))
    assert (result.value, result.standing) == (2.0, "not judged")
    assert result.why_not == "given up for fear, it measured nothing"
