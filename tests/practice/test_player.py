"""The picture fits beside a timer, moves with the trial, and shows a sign without naming it."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.practice_case import PROTOCOL, STANCE, case_of

from screen_tui.files.places import practice_cases_folder
from screen_tui.practice.case import Case
from screen_tui.practice.figure import turned
from screen_tui.practice.files import load_practice
from screen_tui.practice.player import FADES_S, WORDS_S, Frame, Timeline, at
from screen_tui.practice.staging import Scene, timeline_of

SHIPPED: list[Case] = [
    one
    for one in load_practice([practice_cases_folder()], PROTOCOL).patients
    if isinstance(one, Case)
]
EVERY_TEST: dict[str, dict[str, Any]] = {
    "single-leg-stance": {"side": "left", "ends_s": 12.0, "ended": "foot-down"},
    "tandem-stance": {"ends_s": 6.0, "ended": "stance-foot-moved"},
    "five-chair-stands": {"repetitions_s": [3.0, 6.0, 9.0, 12.0, 15.0]},
    "chair-stands-30s": {"pace": {"count": 10, "first_s": 2.8, "last_s": 2.8}},
    "step-down": {"side": "left", "repetitions_s": [3.0, 6.0, 9.0, 12.0, 15.0]},
    "stair-steps": {"direction": "up", "pace": {"count": 9, "first_s": 0.6, "last_s": 0.6}},
    "walk-4m": {"ends_s": 4.0},
    "timed-up-and-go": {"ends_s": 10.0},
    "floor-rise": {"ends_s": 8.0},
    "straight-leg-raise-hold": {"side": "left", "holds_s": [10.0] * 10},
    "quad-set": {"side": "left", "repetitions_s": [4.0, 8.0, 12.0]},
    "knee-extension": {"side": "left", "passive_deg": 10.0, "active_deg": 20.0},
    "knee-flexion": {"side": "left", "value": 110.0},
    "swelling": {"side": "left", "value": 2.0},
    "knee-to-wall": {"side": "left", "value": 9.0},
    "squat": {"repetitions_s": [3.0, 6.0, 9.0, 12.0, 15.0]},
    "one-leg-rise": {"side": "left", "repetitions_s": [3.0, 6.0, 9.0, 12.0, 15.0]},
    "heel-raise": {"side": "left", "value": 18.0},
    "hip-rotation": {"side": "left", "value": 30.0},
}


def timeline(test: str, **more: Any) -> Timeline:
    shown = {"test": test, **EVERY_TEST[test], **more}
    scene = Scene(test, shown.get("side"), "", shown.get("direction"))
    found = timeline_of(case_of(shown), PROTOCOL, scene, 0, 1)
    assert found is not None
    return found


def seen(test: str, t: float, **more: Any) -> Frame:
    return at(timeline(test, **more), t)


def assert_fits(frame: Frame) -> None:
    for view in (frame.front, frame.side):
        assert len(view) in (0, 8)
        assert all(len(line) <= 12 and line.isascii() and line.isprintable() for line in view)
    assert len(frame.both) == 8
    assert all(len(line) <= 24 for line in frame.both)


def test_every_test_of_the_protocol_has_a_picture() -> None:
    assert {test.id for test in PROTOCOL.tests} <= set(EVERY_TEST)


@pytest.mark.parametrize("test", EVERY_TEST)
@given(t=st.floats(-10, 140))
def test_a_picture_fits_beside_a_timer(test: str, t: float) -> None:
    frame = seen(test, t)
    assert_fits(frame)
    assert any("O" in line for line in frame.side) or test == "walk-4m"


@pytest.mark.parametrize("case", SHIPPED, ids=lambda case: case.id)
def test_shipped_cases_can_be_watched_from_beginning_to_end(case: Case) -> None:
    shown = Counter(Scene(one.test, one.side, one.cue, one.direction) for one in case.shown)
    for scene, trials in shown.items():
        for attempt in range(trials):
            trial = timeline_of(case, PROTOCOL, scene, attempt, 7)
            assert trial is not None
            moments = [-trial.lead_in_s, 0.0, trial.over_s, trial.over_s + 5]
            moments += [sight.at_s + 0.3 for sight in trial.sights]
            for moment in moments:
                assert_fits(at(trial, moment))


def test_a_foot_leaves_the_floor_at_the_start_and_is_down_at_the_end() -> None:
    before, after = seen("single-leg-stance", -1.0), seen("single-leg-stance", 2.0)
    assert before.front[7].count("n") == 2
    assert after.front[7].count("n") == 1
    end = seen("single-leg-stance", 12.5)
    assert end.front[7].count("n") == 2
    assert (end.over, end.happens) == (True, "The foot is down.")
    assert seen("single-leg-stance", 0.1).happens == "The foot leaves the floor."
    assert not after.happens


def test_the_left_leg_of_somebody_who_faces_you_is_on_your_right() -> None:
    left, right = seen("single-leg-stance", 2.0), seen("single-leg-stance", 2.0, side="right")
    assert left.front[7].index("n") > 5
    assert right.front[7].rindex("n") < 6
    assert right.front == tuple(turned(line) for line in left.front)
    assert right.side == left.side


@pytest.mark.parametrize("n", range(1, 6))
def test_five_rises_sit_at_each_repetition_and_rise_between(n: int) -> None:
    def head(t: float) -> int:
        return next(
            row for row, line in enumerate(seen("five-chair-stands", t).side) if "O" in line
        )

    assert head(3.0 * n - 0.001) == 2
    assert head(3.0 * n - 1.5) == 0


def test_rises_in_a_window_are_upright_at_each_repetition_and_sit_between() -> None:
    def head(t: float, **more: Any) -> int:
        side = seen("chair-stands-30s", t, **more).side
        return next(row for row, line in enumerate(side) if "O" in line)

    assert head(2.8) == 0
    assert head(4.2) == 2
    # Where somebody is when the time ends stays in the picture.
    assert head(30.0, half_way_up=True) == head(31.5, half_way_up=True) == 1
    assert head(33.5, half_way_up=True) == 0


def test_toes_cross_the_marks_at_the_start_and_the_end() -> None:
    def toes(t: float) -> int:
        line = seen("walk-4m", t).side[7].ljust(12)
        return max((place for place, character in enumerate(line) if character == "_"), default=0)

    assert abs(toes(0.0) - 1) <= 1
    assert abs(toes(3.99) - 10) <= 1
    assert [toes(t) for t in (0.0, 1.1, 2.2, 3.3)] == sorted(toes(t) for t in (0, 1.1, 2.2, 3.3))


@pytest.mark.parametrize("direction", ["up", "down"])
def test_each_step_of_a_flight_swings_a_leg_and_rests_at_its_end(direction: str) -> None:
    still = seen("stair-steps", -1.0, direction=direction).side
    for n in range(1, 9):
        assert seen("stair-steps", 0.6 * n - 0.3, direction=direction).side != still
    assert seen("stair-steps", 6.0, direction=direction).over
    up, down = (seen("stair-steps", 0.3, direction=way).side for way in ("up", "down"))
    assert up != down


def test_a_foot_is_put_on_the_step_above() -> None:
    feet = [row for row, line in enumerate(seen("stair-steps", 0.3).side) if "L" in line]
    assert (min(feet), max(feet)) == (5, 7)


@pytest.mark.parametrize(
    ("test", "sign"),
    [(test.id, sign) for test in PROTOCOL.tests for sign in test.signs],
)
def test_each_sign_changes_the_picture_of_its_test(test: str, sign: str) -> None:
    moments = [0.3 + 0.1 * n for n in range(50)]
    sights = [
        {
            "sign": sign,
            "at_s": [0.0],
            "lasts_s": 30.0,
            "from_front": "Something.",
            "from_side": "Something.",
        }
    ]
    plain = [seen(test, t) for t in moments]
    changed = [seen(test, t, signs=sights) for t in moments]
    assert any(
        (one.front, one.side) != (two.front, two.side)
        for one, two in zip(plain, changed, strict=True)
    )


def test_a_sign_shows_only_from_where_it_can_be_seen() -> None:
    front_only = [{"sign": "unsteady", "at_s": [3.0], "from_front": "Sways."}]
    with_sign = seen("single-leg-stance", 3.7, signs=front_only)
    without = seen("single-leg-stance", 3.7)
    assert with_sign.front != without.front
    assert with_sign.side == without.side
    assert (with_sign.seen_from_front, with_sign.seen_from_side) == (("Sways.",), ())
    side_only = [{"sign": "unsteady", "at_s": [3.0], "from_side": "Sways."}]
    turned_round = seen("single-leg-stance", 3.7, signs=side_only)
    assert turned_round.front == without.front
    assert turned_round.side != without.side


def test_what_can_be_seen_comes_at_its_time_and_fades() -> None:
    signs = STANCE["signs"]
    for t, told in ((2.9, False), (3.0, True), (5.9, True), (3.0 + 3.0 + FADES_S + 0.01, False)):
        frame = seen("single-leg-stance", t, signs=signs)
        assert bool(frame.seen_from_front) == told, t
    # It comes again.
    assert seen("single-leg-stance", 8.1, signs=signs).seen_from_front


def test_the_newest_thing_seen_is_first_and_once() -> None:
    signs = [
        {"sign": "pelvis-drops", "at_s": [3.0, 4.0], "from_front": "The hip sinks."},
        {"sign": "arch-collapses", "at_s": [5.0], "from_front": "The foot goes flat."},
    ]
    frame = seen("single-leg-stance", 5.2, signs=signs)
    assert frame.seen_from_front == ("The foot goes flat.", "The hip sinks.")


def test_words_are_heard_for_a_while() -> None:
    told = STANCE["told"]
    assert seen("single-leg-stance", 5.9, told=told).heard == ()
    assert seen("single-leg-stance", 6.0, told=told).heard == ("This is hard.",)
    assert seen("single-leg-stance", 6.0 + WORDS_S, told=told).heard == ()


def test_pain_is_named_when_the_trial_is_over() -> None:
    assert not seen("walk-4m", 3.9, pain=4).pain
    assert seen("walk-4m", 4.0, pain=4).pain == "4 of 10"
    assert seen("walk-4m", 4.0).pain == "none"


def test_a_goniometer_is_read_passive_first() -> None:
    assert seen("knee-extension", -1.0).reading == ()
    assert seen("knee-extension", 1.0).reading == (("passive_deg", 10.0),)
    both = (("passive_deg", 10.0), ("active_deg", 20.0))
    assert seen("knee-extension", 4.0).reading == both


def test_no_view_of_a_shipped_case_names_a_sign() -> None:
    names = {sign.label.lower() for sign in PROTOCOL.signs}
    for case in SHIPPED:
        for one in case.shown:
            for sight in one.signs:
                words = f"{sight.from_front} {sight.from_side}".lower()
                assert not [name for name in names if name in words], (case.id, words)
