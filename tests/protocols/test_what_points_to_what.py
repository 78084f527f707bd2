"""The shipped rows of evidence, read as a therapist would: what is enough, and what is not.

Which finding points to which driver, and how strongly, is clinical judgement.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

import pytest
from shipped_protocol import shipped

from screen_tui.engine import Assessment, assess
from screen_tui.engine.conditions import Seen
from screen_tui.engine.observe import Key
from screen_tui.engine.offered import not_called_for
from screen_tui.engine.safety import closed_gates, loads_allowed, loads_left
from screen_tui.fields import Side
from screen_tui.protocol.evidence import NONE
from screen_tui.protocol.tests import rows_of
from screen_tui.session.model import Client, Intake, Session, Trial, WeightBearing


def session(*trials: Trial, age: int = 68, weight_bearing: WeightBearing = "full") -> Session:
    return Session(
        id="2026-01-01-0900-0000",
        protocol="chairside-knee",
        started=datetime(2026, 1, 1, 9, tzinfo=UTC),
        client=Client(label="T-1", age=age, sex="female"),
        intake=Intake(side="left", weight_bearing=weight_bearing),
        trials=trials,
    )


def left(test: str, *signs: str, value: float | None = None, cue: str = "") -> Trial:
    return Trial(test=test, side="left", value=value, signs=signs, cue=cue)


def right(test: str, *signs: str, value: float | None = None) -> Trial:
    return Trial(test=test, side="right", value=value, signs=signs)


def both(test: str, *signs: str, value: float | None = None, cue: str = "") -> Trial:
    return Trial(test=test, value=value, signs=signs, cue=cue)


def extension(passive: float, active: float, side: str = "left") -> Trial:
    return Trial.model_validate(
        {"test": "knee-extension", "side": side, "passive_deg": passive, "active_deg": active}
    )


def gate_reason(made: Session, test: str, side: Side) -> str | None:
    return closed_gates(Seen.of(shipped(), made)).get((test, side))


def leads(assessment: Assessment) -> tuple[str, str, str | None]:
    leader = assessment.leading[0]
    return assessment.outcome, leader.driver, leader.side


def chance(assessment: Assessment, driver: str, side: str | None = None) -> float:
    return next(d.chance for d in assessment.drivers if (d.driver, d.side) == (driver, side))


def before(driver: str, side: str | None = None) -> float:
    """The chance before anything was tested."""
    return chance(assess(shipped(), session()), driver, side)


def test_pelvis_and_trunk_in_both_tests_of_one_leg_make_hip_control_likely() -> None:
    seen = session(
        left("single-leg-stance", "pelvis-drops", "trunk-leans", value=18),
        left("step-down", "pelvis-drops", "trunk-leans", "knee-moves-in"),
    )
    assert leads(assess(shipped(), seen)) == ("likely", "hip-control", "left")


def test_a_pelvis_that_drops_is_possible_hip_control_only_where_it_is_seen_again() -> None:
    stance = left("single-leg-stance", "pelvis-drops", value=18)
    once = assess(shipped(), session(stance))
    assert once.outcome == "undetermined"
    assert once.drivers[0].driver == "hip-control"
    again = assess(shipped(), session(stance, left("step-down", "pelvis-drops", "trunk-leans")))
    assert leads(again) == ("possible", "hip-control", "left")


def test_lifting_the_arch_turns_a_knee_that_moves_in_towards_the_foot() -> None:
    seen = (
        left("single-leg-stance", "knee-moves-in", "arch-collapses", value=25),
        left("step-down", "knee-moves-in", "arch-collapses"),
    )
    cured = assess(
        shipped(), session(*seen, left("single-leg-stance", value=25, cue="arch-lifted"))
    )
    assert leads(cured) == ("likely", "foot-ankle-control", "left")
    assert chance(cured, "hip-control", "left") < chance(
        assess(shipped(), session(*seen)), "hip-control", "left"
    )


def test_slow_rising_alone_settles_nothing() -> None:
    seen = session(both("five-chair-stands", value=18), both("chair-stands-30s", value=7))
    assessment = assess(shipped(), seen)
    assert assessment.outcome == "undetermined"
    # Anybody may be behind it, so it moves no driver far.
    for driver, side in (("deconditioning", None), ("quad-weakness", "left")):
        assert chance(assessment, driver, side) < 2 * before(driver, side)


def test_feet_back_that_makes_the_rise_faster_points_to_the_way_of_moving() -> None:
    seen = session(
        both("five-chair-stands", "feet-forward", value=16),
        both("five-chair-stands", value=12, cue="feet-back"),
        both("chair-stands-30s", "feet-forward", value=8),
    )
    found = assess(shipped(), seen)
    assert leads(found) == ("possible", "movement-strategy", None)
    plain = session(*(trial for trial in seen.trials if not trial.cue))
    assert chance(found, "movement-strategy") > chance(
        assess(shipped(), plain), "movement-strategy"
    )


def test_feet_back_within_error_speaks_against_it() -> None:
    # Error of the five stands: MDC95 1.71 s (Amano and Suzuki 2018, Prog Rehabil Med 3).
    before_it = both("five-chair-stands", value=19)
    within = session(before_it, both("five-chair-stands", value=18, cue="feet-back"))
    assert chance(assess(shipped(), within), "movement-strategy") < chance(
        assess(shipped(), session(before_it)), "movement-strategy"
    )


def test_a_lag_on_one_side_and_failed_raises_are_a_weak_thigh_on_that_side() -> None:
    seen = session(
        extension(0, 9),
        extension(0, 0, "right"),
        left("straight-leg-raise-hold", "extension-lag", value=3),
    )
    assert leads(assess(shipped(), seen)) == ("likely", "quad-weakness", "left")


def test_a_short_trial_in_pain_says_nothing_on_strength() -> None:
    seen = session(both("five-chair-stands", "pain-limits", value=25))
    assert chance(assess(shipped(), seen), "quad-weakness", "left") == before(
        "quad-weakness", "left"
    )


def test_a_deficit_and_a_bent_landing_are_missing_extension() -> None:
    seen = session(
        extension(7, 7),
        extension(-2, -2, "right"),
        both("walk-4m", "bent-knee-contact", value=3.6),
    )
    assert leads(assess(shipped(), seen)) == ("likely", "knee-extension", "left")


def test_two_stiff_knees_do_not_excuse_each_other() -> None:
    seen = session(
        extension(12, 12),
        extension(12, 12, "right"),
        both("walk-4m", "bent-knee-contact", value=4.0),
    )
    assert leads(assess(shipped(), seen))[:2] == ("likely", "knee-extension")


def test_short_holds_on_both_legs_in_line_and_an_unsteady_walk_are_balance() -> None:
    seen = session(
        left("single-leg-stance", value=4),
        right("single-leg-stance", value=4),
        both("walk-4m", "unsteady", value=4.0),
    )
    assert leads(assess(shipped(), seen)) == ("possible", "balance", None)


def test_a_short_hold_on_the_sore_leg_only_is_not_balance() -> None:
    seen = session(
        left("single-leg-stance", value=4),
        right("single-leg-stance", value=30),
        both("walk-4m", value=3.2),
    )
    assert chance(assess(shipped(), seen), "balance") < before("balance") / 2


def test_slow_everywhere_and_slowing_further_is_deconditioning() -> None:
    slowing = (2.5, 5.0, 7.6, 10.4, 13.4, 16.8, 20.6, 24.8)
    seen = session(
        both("walk-4m", value=6.0),
        Trial(test="chair-stands-30s", value=8, splits=slowing),
    )
    assert leads(assess(shipped(), seen)) == ("possible", "deconditioning", None)


def test_slow_everywhere_without_slowing_is_at_most_possible() -> None:
    seen = session(both("walk-4m", value=5.2), both("chair-stands-30s", value=7))
    assert assess(shipped(), seen).outcome in ("possible", "mixed", "undetermined")


RAISES = "straight-leg-raise-hold"


def uncalled(made: Session) -> Mapping[Key, str]:
    return not_called_for(shipped(), made.intake, Seen.of(shipped(), made))


@pytest.mark.parametrize(
    ("weight_bearing", "offered"),
    [("full", False), ("as-tolerated", True), ("partial", True), ("none", True)],
)
def test_without_a_lag_the_ten_raises_are_for_those_who_may_not_load_the_leg(
    weight_bearing: WeightBearing, offered: bool
) -> None:
    seen = session(extension(0, 1), weight_bearing=weight_bearing)
    assert (RAISES, "left") not in uncalled(seen) if offered else uncalled(seen)[RAISES, "left"]


def test_with_a_lag_the_ten_raises_are_asked_for_on_that_leg() -> None:
    seen = session(extension(0, 9), extension(0, 0, "right"))
    assert (RAISES, "left") not in uncalled(seen)
    assert uncalled(seen)[RAISES, "right"]


@pytest.mark.parametrize(
    ("trial", "withheld"),
    [
        (left("single-leg-stance", value=3), "step-down"),
        (left("quad-set", "no-contraction"), "step-down"),
    ],
)
def test_a_leg_that_failed_an_easier_task_is_kept_from_the_harder_one(
    trial: Trial, withheld: str
) -> None:
    assert closed_gates(Seen.of(shipped(), session(trial))).get((withheld, "left")) is not None
    assert closed_gates(Seen.of(shipped(), session(trial))).get((withheld, "right")) is None


@pytest.mark.parametrize("seen_in", ["knee-extension", "quad-set"])
def test_a_thigh_that_does_not_tighten_carries_no_body(seen_in: str) -> None:
    closed = closed_gates(Seen.of(shipped(), session(left(seen_in, "no-contraction"))))
    assert {("single-leg-stance", "left"), ("step-down", "left")} <= closed.keys()
    assert {("stair-steps", None), ("floor-rise", None)} <= closed.keys()
    assert not {("single-leg-stance", "right"), ("step-down", "right")} & closed.keys()
    assert not {("five-chair-stands", None), ("chair-stands-30s", None)} & closed.keys()


@pytest.mark.parametrize(("seconds", "withheld"), [(4.95, True), (5.0, False)])
def test_five_seconds_on_one_leg_open_the_step_down(seconds: float, withheld: bool) -> None:
    # Curr Rev Musculoskelet Med 2017, 10:328-345, table 3: one-leg stance of 5 to 10 s.
    reason = gate_reason(session(left("single-leg-stance", value=seconds)), "step-down", "left")
    assert (reason is not None) is withheld


@pytest.mark.parametrize("age", [12, 30, 68])
def test_a_short_tandem_withholds_at_any_age_whether_a_line_judges_it_or_not(age: int) -> None:
    closed = closed_gates(Seen.of(shipped(), session(both("tandem-stance", value=9.9), age=age)))
    withheld = {"single-leg-stance", "step-down", "stair-steps", "floor-rise"}
    withheld |= {"one-leg-rise", "heel-raise", "squat"}
    assert {test for test, _ in closed} == withheld


HARDER = {"one-leg-rise", "squat"}
"""Harder than rising from a chair on both legs."""


def ended(test: str, reason: str) -> Session:
    return session(Trial(test=test, ended=reason))


@pytest.mark.parametrize(
    ("made", "withheld"),
    [
        (ended("five-chair-stands", "unable"), {"chair-stands-30s", *HARDER}),
        (ended("five-chair-stands", "breathless"), {"chair-stands-30s", "stair-steps", *HARDER}),
        (ended("chair-stands-30s", "breathless"), {"stair-steps", *HARDER}),
        (ended("chair-stands-30s", "fatigue"), HARDER),
        (session(both("five-chair-stands", "hands-used")), {"chair-stands-30s", *HARDER}),
        (session(both("chair-stands-30s", "hands-used")), HARDER),
    ],
)
def test_who_cannot_rise_or_is_out_of_breath_is_asked_for_no_more_of_it(
    made: Session, withheld: set[str]
) -> None:
    assert {test for test, _ in closed_gates(Seen.of(shipped(), made))} == withheld


@pytest.mark.parametrize(
    ("trial", "withheld"),
    [
        (Trial(test="step-down", side="left", ended="unable"), {"one-leg-rise"}),
        (Trial(test="step-down", side="left", ended="fatigue"), {"one-leg-rise"}),
        (left("knee-flexion", value=89), {"squat"}),
        (left("knee-flexion", value=90), set()),
        (extension(11, 11), HARDER),
        (extension(10, 10), set()),
        (both("floor-rise", "furniture-used"), {"one-leg-rise"}),
    ],
)
def test_what_is_harder_waits_and_exercises_of_its_load_do_not(
    trial: Trial, withheld: set[str]
) -> None:
    seen = Seen.of(shipped(), session(trial))
    assert {test for test, _ in closed_gates(seen)} == withheld
    assert loads_left(seen) == loads_allowed(shipped(), seen.session.intake)


@pytest.mark.parametrize(("age", "led_to"), [(59, True), (60, False)])
def test_rising_on_one_leg_is_suggested_to_nobody_from_60(age: int, led_to: bool) -> None:
    seen = Seen.of(shipped(), session(left("step-down"), age=age))
    reasons = not_called_for(shipped(), seen.session.intake, seen)
    assert (("one-leg-rise", "left") not in reasons) is led_to


@pytest.mark.parametrize("withheld", ["single-leg-stance", "step-down"])
@pytest.mark.parametrize("side", ["left", "right"])
def test_nobody_is_asked_for_one_leg_who_cannot_hold_tandem_either_way(
    withheld: str, side: Side
) -> None:
    short = session(both("tandem-stance", value=6), both("tandem-stance", value=7.5))
    assert closed_gates(Seen.of(shipped(), short)).get((withheld, side)) is not None
    one_way = session(both("tandem-stance", value=6), both("tandem-stance", value=10))
    assert closed_gates(Seen.of(shipped(), one_way)).get((withheld, side)) is None


@pytest.mark.parametrize("sign", sorted(sign.id for sign in shipped().signs))
def test_one_sign_alone_makes_no_driver_likely_however_often_it_is_seen(sign: str) -> None:
    trials = tuple(
        Trial(test=spec.id, side="left" if spec.sided else None, signs=(sign,))
        for spec in shipped().tests
        if sign in spec.signs
    )
    assert trials
    assert assess(shipped(), session(*trials)).outcome != "likely"


@pytest.mark.parametrize("seat_cm", [43, 50])
def test_slow_rising_alone_settles_nothing_from_any_seat(seat_cm: float) -> None:
    slow = Trial(test="five-chair-stands", value=19, seat_cm=seat_cm)
    assert assess(shipped(), session(slow)).outcome == "undetermined"


def test_the_same_habit_in_two_chair_tests_is_at_most_possible() -> None:
    seen = session(
        both("five-chair-stands", "feet-forward", value=10),
        both("chair-stands-30s", "feet-forward", value=14),
        both("timed-up-and-go", "feet-forward", value=8),
    )
    assert assess(shipped(), seen).outcome != "likely"


def test_unsteady_walking_seen_twice_is_at_most_possible() -> None:
    seen = session(
        both("walk-4m", "unsteady", value=3.4), both("timed-up-and-go", "unsteady", value=9)
    )
    assert leads(assess(shipped(), seen)) == ("possible", "balance", None)


def swollen(passive: float, active: float) -> Trial:
    return extension(passive, active).model_copy(update={"signs": ("knee-swollen",)})


def test_a_lag_in_a_swollen_knee_counts_less() -> None:
    # Pain and effusion each lower strength and activation: Palmieri-Smith et al 2013, J Athl
    # Train 48:186-191. How much less it counts is judgement.
    other = extension(0, 0, "right")
    dry = assess(shipped(), session(extension(0, 12), other))
    wet = assess(shipped(), session(swollen(0, 12), other))
    assert chance(wet, "quad-weakness", "left") < chance(dry, "quad-weakness", "left")


def test_a_flat_arch_under_a_straight_knee_is_less_than_one_the_knee_follows() -> None:
    # Neal et al 2014: flat feet go with knee pain hardly at all.
    flat = (
        left("single-leg-stance", "arch-collapses", value=20), left("step-down", "arch-collapses")
    )  # fmt: skip
    followed = tuple(
        one.model_copy(update={"signs": (*one.signs, "knee-moves-in")}) for one in flat
    )
    alone, together = (assess(shipped(), session(*trials)) for trials in (flat, followed))
    assert alone.outcome in ("possible", "undetermined")
    foot = ("foot-ankle-control", "left")
    assert chance(alone, *foot) < chance(together, *foot)


def test_an_arch_that_gives_way_under_a_knee_that_follows_is_the_foot() -> None:
    seen = session(
        left("single-leg-stance", "arch-collapses", "knee-moves-in", value=32),
        left("step-down", "arch-collapses", "knee-moves-in"),
    )
    assert leads(assess(shipped(), seen))[1:] == ("foot-ankle-control", "left")


def test_the_whole_foot_that_frees_the_hands_from_the_floor_is_the_way_of_moving() -> None:
    plain = both("floor-rise", "hands-used", value=9)
    freed = assess(shipped(), session(plain, both("floor-rise", value=6, cue="whole-foot")))
    still = both("floor-rise", "hands-used", value=9, cue="whole-foot")
    stuck = assess(shipped(), session(plain, still))
    seen = assess(shipped(), session(plain))
    assert (
        chance(freed, "movement-strategy")
        > chance(seen, "movement-strategy")
        > chance(stuck, "movement-strategy")
    )


def test_one_spared_leg_speaks_against_a_tired_person() -> None:
    even = session(both("five-chair-stands", value=16))
    spared = session(both("five-chair-stands", "shifts-to-one-side", value=16))
    assert chance(assess(shipped(), spared), "deconditioning") < chance(
        assess(shipped(), even), "deconditioning"
    )


def test_one_leg_that_tires_on_the_step_is_that_leg_and_both_may_be_the_person() -> None:
    tired = Trial(test="step-down", side="left", ended="fatigue")
    one = assess(shipped(), session(tired, right("step-down")))
    assert leads(one) == ("possible", "quad-weakness", "left")
    two = assess(shipped(), session(tired, tired.model_copy(update={"side": "right"})))
    assert chance(two, "deconditioning") > 1.25 * chance(one, "deconditioning")


def test_clean_stairs_speak_against_hip_and_foot() -> None:
    climbed = assess(shipped(), session(Trial(test="stair-steps", direction="up", value=6)))
    for driver in ("hip-control", "foot-ankle-control"):
        assert chance(climbed, driver, "left") < before(driver, "left")


def test_several_tests_point_to_every_driver() -> None:
    def odds(share: float) -> float:
        return share / (1 - share)

    for driver in shipped().drivers:
        tests = set()
        for spec in shipped().tests:
            for path, _name, row in rows_of(spec):
                shares = row.shares(50)
                leak = shares[NONE]
                if path[0] != "cue_effects" and odds(shares.get(driver.id, leak)) >= 3 * odds(leak):
                    tests.add(spec.id)
        assert len(tests) >= 2, (driver.id, tests)
