"""Trials done in different ways are never mixed into one mean or best, whatever their order."""

from __future__ import annotations

from itertools import permutations
from typing import Any

import pytest
from support.small_protocol import grade, line, measure, protocol, session, test_spec

from screen_tui.engine import assess
from screen_tui.engine.conditions import Seen
from screen_tui.engine.results import Result
from screen_tui.engine.safety import closed_gates
from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.tests import TestSpec

SHIPPED = load_protocol([protocols_folder()])
SEAT = {"id": "seat_cm", "label": "Seat", "usual": 43, "unit": "cm", "minimum": 30, "maximum": 60}
AID = {"id": "aid", "label": "Aid", "usual": "none", "choices": ["none", "stick", "frame"]}
STEP = {"id": "step_cm", "label": "Step", "usual": 20, "unit": "cm", "minimum": 5, "maximum": 30}
LOW_SEATS = [{"id": "seat_cm", "minimum": 41, "maximum": 45}]


def rises(**more: Any) -> TestSpec:
    return test_spec(
        "rises",
        **{
            "sides": "both",
            "timer": {"kind": "count-in-time", "window_s": 30.0, "min_split_s": 0.5},
            "measures": [measure(unit="stands", over_trials="mean")],
            "set_up": [SEAT],
            "lines": [line("value", "at least", 8.0, only_when=LOW_SEATS)],
            **more,
        },
    )


def walk(**more: Any) -> TestSpec:
    return test_spec(
        "walk",
        **{
            "sides": "both",
            "signs": ["unsteady", "walking-aid"],
            "measures": [measure(better="lower", over_trials="mean")],
            "set_up": [AID],
            **more,
        },
    )


def stands(value: float, **more: Any) -> dict[str, Any]:
    return {"test": "rises", "value": value, **more}


def hands(value: float, **more: Any) -> dict[str, Any]:
    return stands(value, signs=["hands-used"], **more)


def walked(value: float, **more: Any) -> dict[str, Any]:
    return {"test": "walk", "value": value, **more}


def only_result(spec: TestSpec, *trials: dict[str, Any]) -> Result:
    """The one result, the same in whatever order the trials were done."""
    results = []
    for order in permutations(trials):
        (result,) = grade(protocol(spec), session(*order)).values()
        assert result.trials
        results.append(result)
    values = {(one.value, one.standing, one.why_not, tuple(sorted(one.trials))) for one in results}
    assert len(values) == 1
    return results[0]


def remarks(spec: TestSpec, *trials: dict[str, Any]) -> tuple[str, ...]:
    return assess(protocol(spec), session(*trials)).remarks


def test_half_a_minute_with_hands_stays_nought_beside_what_a_higher_seat_makes_possible() -> None:
    result = only_result(rises(), hands(0), stands(9, seat_cm=50))
    assert (result.value, result.trials) == (0, (0,))
    assert (result.standing, result.why_not) == ("not judged", "hands were used")


def test_a_seat_that_the_line_allows_is_judged_before_one_with_hands() -> None:
    result = only_result(rises(), hands(0), stands(7, seat_cm=45))
    assert (result.value, result.standing) == (7, "short of the line")
    assert result.why_not == ""


def test_without_hands_goes_before_with_hands_from_the_same_seat() -> None:
    result = only_result(rises(), hands(0), stands(9), hands(0))
    assert (result.value, result.standing) == (9, "meets")
    higher = only_result(rises(), hands(6, seat_cm=50), stands(5, seat_cm=50), hands(6, seat_cm=50))
    assert (higher.value, higher.standing) == (5, "not judged")


def test_of_two_unusual_ways_the_one_with_more_trials_counts() -> None:
    result = only_result(
        rises(), stands(9, seat_cm=50), stands(14, seat_cm=55), stands(16, seat_cm=55)
    )
    assert (result.value, sorted(result.trials)) == (15, [14, 16])


def test_between_equals_the_choice_does_not_depend_on_the_order() -> None:
    only_result(rises(), stands(9, seat_cm=50), stands(14, seat_cm=55), stands(20, seat_cm=60))


def test_a_noted_usual_seat_is_the_same_as_one_that_was_not_noted() -> None:
    assert only_result(rises(), stands(9), stands(12, seat_cm=43)).value == 10.5


def test_trials_that_pain_limited_still_give_way_to_fair_ones() -> None:
    result = only_result(rises(), stands(12, ended="pain"), stands(9, seat_cm=50))
    assert result.value == 9
    both = only_result(rises(), stands(12, ended="pain"), stands(9, seat_cm=50, ended="pain"))
    assert (both.value, both.why_not) == (12, "pain limited every trial")


@pytest.mark.parametrize("aid", [{"aid": "frame"}, {"signs": ["walking-aid"]}])
def test_a_walk_with_an_aid_is_not_mixed_with_one_without(aid: dict[str, Any]) -> None:
    assert only_result(walk(), walked(5.0), walked(9.0, **aid)).value == 5.0
    assert only_result(walk(), walked(8.0, **aid), walked(9.0, **aid)).value == 8.5


def test_a_walk_with_a_stick_is_not_mixed_with_one_with_a_frame() -> None:
    result = only_result(walk(), walked(7.0, aid="stick"), walked(9.0, aid="frame"))
    assert result.value in (7.0, 9.0)


def test_footwear_does_not_tell_trials_apart() -> None:
    assert only_result(walk(), walked(5.0, footwear="shoes"), walked(6.0)).value == 5.5


def test_hands_tell_trials_apart_in_rising_from_a_chair_only() -> None:
    spec = walk(timer={"kind": "once"}, signs=["hands-used"])
    assert only_result(spec, walked(5.0), walked(6.0, signs=["hands-used"])).value == 5.5


def test_points_are_summed_over_steps_of_one_height() -> None:
    spec = test_spec(
        "step",
        timer={"kind": "quality", "repetitions": 5},
        measures=[measure("points", better="lower")],
        points={"source": "judgement", "groups": [{"arms-move": 1}, {"pelvis-drops": 2}]},
        set_up=[STEP],
    )
    low = {"test": "step", "side": "left", "signs": ["arms-move"], "step_cm": 10}
    high = {"test": "step", "side": "left", "signs": ["pelvis-drops"]}
    assert only_result(spec, low, high).value == 2


def test_flights_of_different_steps_are_not_mixed_and_each_way_keeps_its_own() -> None:
    spec = test_spec(
        "stairs",
        sides="both",
        timer={"kind": "steps", "steps": 9, "min_split_s": 0.2},
        measures=[
            measure("time-up", id="up", better="lower", over_trials="mean"),
            measure("time-down", id="down", better="lower", over_trials="mean"),
        ],
    )
    trials = (
        {"test": "stairs", "direction": "up", "steps": 9, "value": 6.0},
        {"test": "stairs", "direction": "up", "steps": 3, "value": 2.0},
        # The riser was measured only before the way down.
        {"test": "stairs", "direction": "down", "steps": 9, "value": 7.0, "riser_cm": 16},
    )
    results = grade(protocol(spec), session(*trials))
    assert {key[2]: result.value for key, result in results.items()} == {"up": 6.0, "down": 7.0}


@pytest.mark.parametrize(
    ("risers", "value"),
    # One riser is that of all flights; of two, the flight where none was noted is kept apart.
    [((None, 16), 5.0), ((16, 16), 5.0), ((16, 18), None), ((None, None), 5.0)],
)
def test_a_riser_that_was_measured_late_does_not_tell_flights_apart(
    risers: tuple[float | None, float | None], value: float | None
) -> None:
    spec = test_spec(
        "stairs",
        sides="both",
        timer={"kind": "steps", "steps": 9, "min_split_s": 0.2},
        measures=[measure("time-up", better="lower", over_trials="mean")],
    )
    up = {"test": "stairs", "direction": "up", "steps": 9}
    trials = [
        up | {"value": value, "riser_cm": riser}
        for value, riser in zip((4.0, 6.0), risers, strict=True)
    ]
    assert only_result(spec, *trials).value in ((4.0, 6.0) if value is None else (value,))
    assert len(remarks(spec, *trials)) == (value is None)


def test_on_any_stairs_no_aid_is_the_usual_way() -> None:
    spec = test_spec(
        "stairs",
        sides="both",
        timer={"kind": "steps", "steps": 9, "min_split_s": 0.2},
        measures=[measure("time-up", better="lower", over_trials="mean")],
        set_up=[AID],
    )
    up = {"test": "stairs", "direction": "up", "steps": 9, "riser_cm": 16}
    trials = [up | {"value": 5.0}, up | {"value": 8.0, "aid": "stick"}]
    assert only_result(spec, *trials, up | {"value": 9.0, "aid": "stick"}).value == 5.0


def cue_change(*trials: dict[str, Any]) -> tuple[tuple[str, ...], tuple[float, ...]]:
    """What the cue cured, and the values after it."""
    spec = rises(
        signs=["hands-used"],
        cues=[{"id": "feet-back", "say": "Feet back."}],
    )
    (effect,) = assess(protocol(spec), session(*trials)).cue_effects
    return effect.cured, tuple(change.after for change in effect.changes)


def test_a_cue_is_not_given_the_credit_of_a_higher_seat() -> None:
    cued = stands(9, cue="feet-back")
    assert cue_change(hands(0), cued) == (("hands-used",), (9,))
    assert cue_change(hands(0), cued | {"seat_cm": 50}) == ((), ())
    assert cue_change(hands(0), cued | {"seat_cm": 50}, cued) == (("hands-used",), (9,))


def test_slowing_is_that_of_the_trials_that_count() -> None:
    steady, slowing = (2.0, 4.0, 6.0, 8.0, 10.0, 12.0), (1.0, 2.0, 3.0, 4.0, 6.0, 8.0)
    result = only_result(rises(), stands(6, splits=steady), stands(6, splits=slowing, seat_cm=50))
    assert result.slowing_percent == pytest.approx(0)


def test_sides_are_compared_only_where_both_were_done_in_the_same_way() -> None:
    spec = test_spec("step", set_up=[STEP])
    left = {"test": "step", "side": "left", "value": 8.0}
    right = {"test": "step", "side": "right", "value": 10.0}
    same = grade(protocol(spec), session(left, right))
    assert {one.symmetry_percent for one in same.values()} == {80.0}
    other = grade(protocol(spec), session(left, right | {"step_cm": 10}))
    assert {one.symmetry_percent for one in other.values()} == {None}


def test_no_percentile_from_a_seat_that_no_line_allows() -> None:
    reference = {
        "measure": "value",
        "rows": [{"from_age": 60, "to_age": 69, "mean": 12.0, "sd": 3.0}],
        "population": "invented",
        "source": "paper",
    }
    paper = {
        "id": "paper",
        "provenance": "published",
        "authors": "A",
        "year": 2000,
        "title": "t",
        "journal": "j",
    }
    judgement = {"id": "judgement", "provenance": "clinical judgement", "title": "t"}

    def percentile(seat: float) -> float | None:
        whole = protocol(rises(references=[reference]), sources=[paper, judgement])
        (result,) = grade(whole, session(stands(12, seat_cm=seat))).values()
        assert result.reference is not None
        return result.reference.percentile

    assert percentile(45) == pytest.approx(50)
    assert percentile(50) is None


# What a reader is told.


def test_what_is_shown_apart_is_named_with_its_place_and_what_was_different() -> None:
    void = stands(8, seat_cm=50, void="false start")
    told = assess(
        protocol(walk(), rises()), session(walked(5.0), hands(0), stands(9, seat_cm=50), void)
    ).remarks
    assert told == (
        "Trial 2 of rises was done in another way (seat 50 cm, without hands) than what counts; "
        "it is shown apart, not mixed into: value.",
    )


def test_an_aid_is_named_by_what_is_known_of_it() -> None:
    ticked = walked(9.0, signs=["walking-aid"])
    (told,) = remarks(walk(), walked(5.0), ticked)
    assert "Trial 2 of walk was done in another way (an aid that was not recorded)" in told
    (told,) = remarks(walk(), walked(8.0, aid="frame"), walked(9.0))
    assert "Trial 1 of walk was done in another way (frame)" in told


def test_nothing_is_remarked_where_all_was_done_in_one_way() -> None:
    assert remarks(rises(), stands(9), stands(8)) == ()
    # One that pain limited gives way without a remark, as it did before.
    assert remarks(rises(), stands(9), stands(12, seat_cm=50, ended="pain")) == ()


# The aid that was noted and the sign of an aid say the same.


def signs(**trial: Any) -> frozenset[str]:
    seen = Seen.of(protocol(walk()), session(walked(5.0, **trial)))
    return seen.observations["walk", None].signs


@pytest.mark.parametrize("aid", [{"aid": "frame"}, {"signs": ["walking-aid"]}])
def test_a_noted_aid_is_read_as_its_sign(aid: dict[str, Any]) -> None:
    assert signs() == signs(aid="none") == frozenset()
    assert signs(**aid) == {"walking-aid"}


def test_the_sign_stands_against_a_note_that_there_was_no_aid() -> None:
    assert signs(aid="none", signs=["walking-aid"]) == {"walking-aid"}
    one = walked(9.0, aid="none", signs=["walking-aid"])
    assert only_result(walk(), walked(5.0), one).value == 5.0


def test_a_gate_sees_a_noted_aid_too() -> None:
    gate = {
        "withhold": "rises",
        "after": "walk",
        "when": {"signs_any": ["walking-aid"]},
        "reason": "walks with an aid",
        "source": "judgement",
    }
    whole = protocol(walk(), rises(), gates=[gate])
    assert closed_gates(Seen.of(whole, session(walked(5.0, aid="stick"))))
    assert not closed_gates(Seen.of(whole, session(walked(5.0, aid="none"))))


def test_a_test_without_the_sign_does_not_get_it() -> None:
    seen = Seen.of(protocol(walk(signs=["unsteady"])), session(walked(5.0, aid="stick")))
    assert seen.observations["walk", None].signs == frozenset()


@pytest.mark.parametrize(
    ("test", "value"), [("chair-stands-30s", (0, 9)), ("five-chair-stands", (16.0, 14.0))]
)
def test_the_shipped_chair_tests_keep_a_higher_seat_apart(
    test: str, value: tuple[float, float]
) -> None:
    first = {"test": test, "value": value[0], "signs": ["hands-used"]}
    second = {"test": test, "value": value[1], "seat_cm": 50}
    found = assess(SHIPPED, session(first, second, protocol="chairside-knee"))
    result = next(one for one in found.results if one.test == test)
    assert (result.value, result.why_not) == (value[0], "hands were used")
    assert any("seat 50 cm, without hands" in remark for remark in found.remarks)
