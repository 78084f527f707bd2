"""Each drawing shows the position and the movement that the exercise's own words ask for."""

from __future__ import annotations

import pytest
from shipped_protocol import shipped

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.drawings import Drawing, Picture, Point, bend_of, joints_of
from screen_tui.protocol.loader import load_drawings

EXERCISES = {one.id: one for one in shipped().exercises}
DRAWINGS = load_drawings([protocols_folder()])
WITHOUT_A_BODY = {"one-step-up", "load-day-by-day"}
"""What is done in them is no one movement."""

SEAT = 25.0


def drawn(exercise: str) -> Drawing:
    return DRAWINGS[EXERCISES[exercise].drawing or ""]


def bodies(exercise: str) -> list[Picture]:
    return [picture for picture in drawn(exercise).pictures if picture.body]


def start_and_end(exercise: str) -> tuple[dict[str, Point], dict[str, Point]]:
    pictures = bodies(exercise)
    return joints_of(pictures[0]), joints_of(pictures[-1])


def things(exercise: str) -> set[str]:
    drawing = drawn(exercise)
    everywhere = [*drawing.things, *(one for picture in drawing.pictures for one in picture.things)]
    return {thing.kind for thing in everywhere}


def sole(at: dict[str, Point], side: str) -> float:
    return min(at[f"{side}_{part}"].y for part in ("heel", "ball", "toe"))


def knee(at: dict[str, Point], side: str = "near") -> float:
    return bend_of(at, side, "knee")


def test_every_exercise_names_a_drawing_and_no_drawing_is_left_over() -> None:
    named = {one.drawing for one in EXERCISES.values()}
    assert None not in named
    assert named == set(DRAWINGS)
    assert {one for one in EXERCISES if not bodies(one)} == WITHOUT_A_BODY


@pytest.mark.parametrize("exercise", sorted(set(EXERCISES) - WITHOUT_A_BODY))
def test_upright_a_foot_is_on_the_floor_or_on_a_step(exercise: str) -> None:
    for picture in bodies(exercise):
        if picture.lies:
            continue
        at = joints_of(picture)
        tops = [0.0] + [
            thing.at[1]
            for thing in (*drawn(exercise).things, *picture.things)
            if thing.kind == "step"
        ]
        assert any(abs(sole(at, side) - top) < 1 for side in ("near", "far") for top in tops)
        assert at["head"].y > at["hips"].y > max(at["near_ankle"].y, at["far_ankle"].y)


WORDS_AND_THINGS = {
    "rail": {"rail", "bar"},
    "chair": {"chair"},
    "towel": {"roll"},
    "cushion": {"cushion"},
    "wall": {"wall", "back-wall"},
    "corner": {"corner", "rail"},
    "ball": {"ball", "band"},
    "step": {"step"},
    "stairs": {"step"},
    "lie": {"bed"},
}


@pytest.mark.parametrize("exercise", sorted(EXERCISES))
def test_what_the_starting_position_names_is_in_the_picture(exercise: str) -> None:
    plain = EXERCISES[exercise].for_patient
    assert plain is not None
    words = plain.position.lower().replace(".", " ").replace(",", " ").split()
    for word, kinds in WORDS_AND_THINGS.items():
        if word in words or f"{word}s" in words:
            assert kinds & things(exercise), f"{word} in {plain.position}"


LYING = {
    "quad-set-straight": "back",
    "straight-leg-raise": "back",
    "heel-prop": "back",
    "end-range-set": "back",
    "thigh-squeeze-lying": "back",
    "ankle-pumps": "back",
    "leg-up": "back",
    "heel-slide": "back",
    "prone-leg-lift": "front",
    "side-lying-hip-lift": "side",
}


@pytest.mark.parametrize("exercise", sorted(EXERCISES))
def test_it_lies_on_what_the_words_say(exercise: str) -> None:
    assert {one.lies for one in bodies(exercise)} <= {LYING.get(exercise)}


RISES = [
    "sit-to-stand-even",
    "sit-to-stand-level",
    "sit-to-stand-arch",
    "sit-to-stand-sets",
    "rise-feet-back",
    "rises-with-weight",
]


@pytest.mark.parametrize("exercise", RISES)
def test_a_rise_begins_on_the_seat_with_the_feet_back_and_ends_upright(exercise: str) -> None:
    start, end = start_and_end(exercise)
    assert SEAT < start["hips"].y < SEAT + 6
    assert start["near_heel"].x < start["near_knee"].x
    assert knee(start) > 80
    assert end["hips"].y > end["near_knee"].y + 20
    assert abs(end["head"].x - end["hips"].x) < 3
    assert knee(end) < 30
    assert tuple(start["near_toe"]) == pytest.approx(tuple(end["near_toe"]))


def test_the_other_foot_is_in_front_by_half_a_foot_and_the_trained_one_back() -> None:
    for at in start_and_end("sit-to-stand-level"):
        length = at["near_toe"].x - at["near_heel"].x
        assert length / 2 <= at["far_heel"].x - at["near_heel"].x <= length


SITTING = ["short-foot-sitting", "lean-forward-seated", "seated-intervals", "sitting-balance-reach"]


@pytest.mark.parametrize("exercise", SITTING)
def test_who_sits_stays_on_the_seat(exercise: str) -> None:
    assert "chair" in things(exercise)
    for picture in bodies(exercise):
        assert SEAT < picture.hips[1] < SEAT + 6


@pytest.mark.parametrize("exercise", ["heel-prop", "end-range-set", "quad-set-straight"])
def test_the_heel_is_on_the_roll_and_the_knee_ends_straight(exercise: str) -> None:
    start, end = start_and_end(exercise)
    assert knee(start) > 5
    assert knee(end) < 1
    roll = next(one for one in drawn(exercise).things if one.kind == "roll")
    for at in (start, end):
        assert 0 < at["near_heel"].x - roll.point.x < 8
        assert abs(at["near_heel"].y - 2 * roll.size) < 3


def test_the_straight_leg_goes_up_straight_and_the_other_is_bent_with_its_foot_flat() -> None:
    start, end = start_and_end("straight-leg-raise")
    assert 5 < end["near_heel"].y - start["near_heel"].y < 12
    for at in (start, end):
        assert knee(at) < 1
        assert knee(at, "far") > 60
        assert at["far_heel"].y == pytest.approx(at["far_toe"].y) == pytest.approx(0.0)


def test_the_leg_of_who_lies_face_down_goes_up_straight_with_the_hips_down() -> None:
    start, end = start_and_end("prone-leg-lift")
    assert end["near_ankle"].y - start["near_ankle"].y > 5
    assert start["hips"] == end["hips"]
    assert knee(end) < 1
    assert start["near_knee"].y > 4


def test_the_upper_leg_goes_up_sideways_straight_over_a_bent_one() -> None:
    start, end = start_and_end("side-lying-hip-lift")
    assert end["near_ankle"].y - start["near_ankle"].y > 15
    assert knee(start) < 1
    assert knee(end) < 1
    assert knee(end, "far") > 60
    assert end["near_hip"].y > end["far_hip"].y


HIP_CONTROL = [one.id for one in EXERCISES.values() if one.driver == "hip-control"]


@pytest.mark.parametrize("exercise", HIP_CONTROL)
def test_in_hip_control_the_pelvis_is_level_and_the_knee_over_the_foot(exercise: str) -> None:
    if exercise in LYING:
        return
    for picture in bodies(exercise):
        at = joints_of(picture)
        assert at["near_hip"].y == at["far_hip"].y
        assert picture.tilt == 0
        middle = (at["near_hip"].z + at["near_ankle"].z) / 2
        assert abs(at["near_knee"].z - middle) < 2


def test_the_weight_goes_over_the_leg_and_both_feet_stay() -> None:
    start, end = start_and_end("weight-over-hip")
    assert end["hips"].z - start["hips"].z > 4
    assert abs(end["chest"].z - end["near_ankle"].z) < 2
    assert tuple(start["far_toe"]) == pytest.approx(tuple(end["far_toe"]))


@pytest.mark.parametrize("exercise", ["stance-pelvis-level", "stance-arch-kept", "one-leg-by-rail"])
def test_on_one_leg_the_free_foot_is_up_and_the_other_straight_on_the_floor(exercise: str) -> None:
    at = joints_of(bodies(exercise)[-1])
    assert sole(at, "far") > 1
    assert sole(at, "near") == pytest.approx(0.0)
    assert knee(at) < 15


def test_the_heel_touches_the_floor_in_front_of_the_step_and_the_other_knee_bends() -> None:
    start, end = start_and_end("step-down-slow")
    step = next(one for one in drawn("step-down-slow").things if one.kind == "step")
    assert sole(end, "near") == pytest.approx(step.at[1])
    assert end["far_heel"].y == pytest.approx(0.0, abs=0.5)
    assert end["far_toe"].y > 2
    assert end["far_heel"].x > step.to
    assert knee(end) - knee(start) > 30


@pytest.mark.parametrize("exercise", ["step-up-low", "whole-foot-step", "step-ups-with-weight"])
def test_the_whole_foot_is_on_the_step_the_chest_over_the_knee_and_it_ends_up_there(
    exercise: str,
) -> None:
    start, end = start_and_end(exercise)
    step = next(one for one in drawn(exercise).things if one.kind == "step")
    for at in (start, end):
        assert at["near_heel"].y == pytest.approx(at["near_toe"].y) == pytest.approx(step.at[1])
        assert step.at[0] < at["near_heel"].x < at["near_toe"].x < step.to
    assert abs(start["chest"].x - start["near_knee"].x) < 10
    assert end["hips"].y - start["hips"].y > step.at[1]
    assert knee(start) > 50 > 30 > knee(end)


@pytest.mark.parametrize(
    "exercise", ["heel-raise-sets", "heel-raises-with-weight", "calf-raise-in-line"]
)
def test_the_heels_go_up_over_the_balls_of_the_feet_that_stay(exercise: str) -> None:
    start, end = start_and_end(exercise)
    for side in ("near", "far"):
        assert start[f"{side}_heel"].y == pytest.approx(0.0)
        assert end[f"{side}_heel"].y > 4
        assert end[f"{side}_ball"].y == pytest.approx(0.0)
        assert knee(end, side) < 20


def test_the_knee_comes_to_the_wall_with_the_heel_down() -> None:
    start, end = start_and_end("knee-to-wall")
    wall = next(one for one in drawn("knee-to-wall").things if one.kind == "wall")
    assert wall.at[0] - end["near_knee"].x < 5 < wall.at[0] - start["near_knee"].x
    assert end["near_heel"].y == pytest.approx(0.0)
    assert 5 < wall.at[0] - end["near_toe"].x < 9


def test_the_hinge_leans_the_trunk_and_takes_the_hips_back_with_the_heels_down() -> None:
    start, end = start_and_end("hinge-at-rail")
    assert end["hips"].x < start["hips"].x - 8
    assert end["chest"].x - end["hips"].x > 15
    assert end["nose"].x > end["near_ball"].x
    assert end["near_heel"].y == pytest.approx(0.0)


def test_leaning_forward_brings_the_nose_over_the_toes_of_the_foot_that_is_back() -> None:
    start, end = start_and_end("lean-forward-seated")
    assert start["far_toe"].x < start["near_heel"].x
    assert start["nose"].x < start["far_toe"].x < end["nose"].x


def test_the_band_is_behind_a_knee_that_becomes_straight() -> None:
    start, end = start_and_end("standing-knee-press")
    assert knee(start) > 25 > 15 > knee(end)
    assert end["near_knee"].x < start["near_knee"].x
    assert end["near_heel"].y == pytest.approx(0.0)


def test_who_stands_tall_ends_straight_with_the_chest_up() -> None:
    start, end = start_and_end("stand-tall")
    assert knee(start) > 50 > 15 > knee(end)
    assert end["chest"].y - start["chest"].y > 10


def test_the_small_bend_goes_down_by_ten_centimetres_with_the_front_heel_down() -> None:
    start, end = start_and_end("shallow-split-stance")
    assert 6 <= start["hips"].y - end["hips"].y <= 12
    assert end["near_heel"].y == pytest.approx(0.0)
    assert end["near_heel"].x > end["far_toe"].x
    assert end["far_knee"].y > 11  # The cushions.


def test_the_heel_lands_first_on_a_straight_knee() -> None:
    start, _ = start_and_end("short-steps-under-body")
    assert start["near_heel"].y == pytest.approx(0.0)
    assert start["near_toe"].y > 2
    assert knee(start) < 15


def stride(at: dict[str, Point]) -> float:
    return abs(at["near_heel"].x - at["far_heel"].x)


def test_steps_are_shorter_and_longer_as_the_words_ask() -> None:
    usual, _ = start_and_end("walk-daily")
    fast, slow = start_and_end("walk-intervals")
    for exercise in ("short-steps-under-body", "shorter-steps"):
        assert stride(start_and_end(exercise)[0]) < 0.7 * stride(usual)
    assert stride(slow) < 0.6 * stride(usual) < stride(usual) < stride(fast)
    under, _ = start_and_end("shorter-steps")
    assert under["near_heel"].x < under["hips"].x < under["near_toe"].x


def test_walking_there_and_back_faces_both_ways() -> None:
    assert [one.turned for one in bodies("walk-and-turn")] == [False, True]


def test_the_toes_go_up_and_down_and_the_arms_box() -> None:
    start, end = start_and_end("ankle-pumps")
    assert bend_of(start, "near", "ankle") > 15
    assert bend_of(end, "near", "ankle") < -30
    assert end["near_hand"].y > end["head"].y + 15


@pytest.mark.parametrize("exercise", ["weight-shift-reach", "sitting-balance-reach"])
def test_a_reach_goes_beyond_the_length_of_the_arm(exercise: str) -> None:
    start, end = start_and_end(exercise)
    assert end["near_hand"].x - start["near_shoulder"].x > 34
    assert end["near_hand"].y > end["hips"].y


def test_a_shifted_weight_is_over_the_foot() -> None:
    start, end = start_and_end("weight-shift-reach")
    before, after = (abs(at["hips"].z - at["near_ankle"].z) for at in (start, end))
    assert after < 1 < before


ALL_STILL = {"thigh-squeeze-lying", "tandem-by-rail", "short-foot-sitting", "stance-arch-kept"}
"""Nothing of the body moves, or only the foot does, which is drawn from close by."""


@pytest.mark.parametrize("exercise", sorted(set(EXERCISES) - WITHOUT_A_BODY - ALL_STILL))
def test_something_moves_between_start_and_end(exercise: str) -> None:
    pictures = bodies(exercise)
    assert len({one.model_dump_json(exclude={"arrows", "things"}) for one in pictures}) > 1


@pytest.mark.parametrize("exercise", sorted(ALL_STILL - {"thigh-squeeze-lying"}))
def test_where_only_the_foot_matters_it_is_drawn_from_close_by(exercise: str) -> None:
    assert {"arched-foot", "right-sole"} & things(exercise)


@pytest.mark.parametrize("exercise", sorted(set(EXERCISES) - WITHOUT_A_BODY))
def test_a_leg_is_solid_where_the_exercise_trains_one(exercise: str) -> None:
    sided = {one.id for one in shipped().drivers if one.sided}
    if EXERCISES[exercise].driver in sided:
        assert drawn(exercise).trains in ("near", "both")
