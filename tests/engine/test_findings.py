"""What is read from a session as findings, and by how much each is discounted; by hand."""

from __future__ import annotations

from math import exp, log
from statistics import NormalDist
from typing import Any

import pytest
from support.small_protocol import (
    HIP,
    cue,
    cue_row,
    error,
    finding,
    graded,
    in_100,
    level,
    line,
    measure,
    protocol,
    session,
    test_spec,
)

from screen_tui.engine.conditions import Seen
from screen_tui.engine.findings import Causes, Evidence, evidence_of
from screen_tui.protocol.evidence import FindingRow
from screen_tui.protocol.knowledge import NotMeasured
from screen_tui.protocol.tests import TestSpec

PELVIS = finding("pelvis-drops", none=10, hip=60)
ARCH = finding("arch-collapses", none=20, foot=70)
STANCE = test_spec("stance", findings=[PELVIS])
FIVE_STEPS = test_spec(
    "steps", findings=[PELVIS], measures=[], timer={"kind": "quality", "repetitions": 5}
)
RISES = test_spec("rises", sides="both", load="both-legs", findings=[PELVIS])
BROKEN_OFF = ("pain", "fatigue", "breathless", "fear", "unable", "unsafe")


def held(*signs: str, test: str = "stance", **more: Any) -> dict[str, Any]:
    return {"test": test, "side": "left", "value": 20.0, "signs": signs, **more}


def rose(*signs: str, **more: Any) -> dict[str, Any]:
    return {"test": "rises", "value": 12.0, "signs": signs, **more}


def read(
    specs: TestSpec | list[TestSpec], *trials: dict[str, Any], **more: Any
) -> tuple[Evidence, ...]:
    """All that a session says, in the order of the tests."""
    whole = protocol(*(specs if isinstance(specs, list) else [specs]))
    made = session(*trials, **more)
    return evidence_of(Seen.of(whole, made))


def only(specs: TestSpec | list[TestSpec], *trials: dict[str, Any], **more: Any) -> Evidence:
    (one,) = read(specs, *trials, **more)
    return one


def told(one: Evidence) -> tuple[bool, float]:
    return one.there, pytest.approx(one.weight)


def cells(one: Evidence) -> list[float]:
    """How likely it is: with nothing, and with each cause of its leg alone, in order."""
    legs = {"left": (0, 1, 2), "right": (0, 3, 4), None: (0, 1, 2, 3, 4)}
    alone = dict(zip(one.about, one.alone[1:], strict=True))
    return [exp(one.alone[0]), *(exp(alone.get(n, one.alone[0])) for n in legs[one.leg])]


# ------------------------------------------------------------------ signs


def test_a_sign_is_as_likely_as_its_row_says_for_the_drivers_of_its_leg() -> None:
    one = only(STANCE, held("pelvis-drops"))
    assert (one.test, one.side, one.leg, one.what) == ("stance", "left", "left", "pelvis-drops")
    assert (one.words, one.trait, one.source) == ("pelvis drops", "pelvis-drops", "judgement")
    assert told(one) == (True, 1.0)
    # Of the person's strategy, this leg's hip and this leg's foot only the hip has a cell.
    assert one.about == (1,)
    assert cells(one) == pytest.approx([0.1, 0.1, 0.6, 0.1])


def test_a_two_legged_sign_of_which_nobody_said_the_leg_may_be_of_either() -> None:
    one = only(RISES, rose("pelvis-drops"))
    assert (one.side, one.leg) == (None, None)
    assert cells(one) == pytest.approx([0.1, 0.1, 0.6, 0.1, 0.6, 0.1])


@pytest.mark.parametrize(("watched", "weight"), [(False, 0.25), (True, 1.0)])
def test_a_sign_not_marked_says_a_quarter_unless_it_was_watched(
    watched: bool, weight: float
) -> None:
    one = only(STANCE, held(watched=watched))
    assert told(one) == (False, weight)
    assert one.words == "pelvis drops: not seen"
    assert cells(one) == pytest.approx([0.9, 0.9, 0.4, 0.9])


def test_one_trial_that_was_not_watched_leaves_room_for_the_sign() -> None:
    assert only(STANCE, held(watched=True), held()).weight == 0.25
    assert only(STANCE, held(watched=True), held(watched=True)).weight == 1.0


def test_a_sign_seen_in_pain_only_says_two_fifths_and_is_marked() -> None:
    for hurt in (held("pelvis-drops", ended="pain"), held("pelvis-drops", "pain-limits")):
        one = only(STANCE, hurt)
        assert told(one) == (True, 0.4)
        assert one.in_pain
        free = only(STANCE, hurt, held("pelvis-drops"))
        assert told(free) == (True, 1.0)
        assert not free.in_pain


@pytest.mark.parametrize(
    ("seen", "of", "weight"), [(1, 1, 1.0), (1, 2, 0.5), (2, 3, 1.0), (1, 3, 0.5), (2, 4, 0.5)]
)
def test_a_sign_seen_in_half_of_the_trials_or_fewer_says_a_half(
    seen: int, of: int, weight: float
) -> None:
    trials = [held("pelvis-drops")] * seen + [held()] * (of - seen)
    assert only(STANCE, *trials).weight == weight


@pytest.mark.parametrize(
    ("spec", "counts", "weight"),
    [
        (FIVE_STEPS, {}, 0.5),
        (FIVE_STEPS, {"pelvis-drops": 2}, 1.0),
        (STANCE, {"pelvis-drops": 2}, 0.5),
    ],
    ids=["in one repetition", "in two repetitions", "twice in one hold"],
)
def test_a_sign_of_several_repetitions_is_not_seldom(
    spec: TestSpec, counts: dict[str, int], weight: float
) -> None:
    seen = {"test": spec.id, "side": "left", "signs": ["pelvis-drops"], "sign_counts": counts}
    plain = {"test": spec.id, "side": "left"}
    assert only(spec, seen, plain, plain).weight == weight


def test_a_trial_broken_off_makes_no_sign_seldom() -> None:
    for ended in BROKEN_OFF:
        assert only(STANCE, held("pelvis-drops"), held(ended=ended)).weight == 1.0


def test_seldom_and_in_pain_go_together() -> None:
    assert only(STANCE, held("pelvis-drops", ended="pain"), held()).weight == pytest.approx(0.2)


@pytest.mark.parametrize("ended", BROKEN_OFF)
def test_what_was_not_seen_in_a_trial_broken_off_says_nothing(ended: str) -> None:
    assert read(STANCE, held(ended=ended, watched=True)) == ()
    # One done to its end says what it says; a sign seen says it all the same.
    assert told(only(STANCE, held(ended=ended), held(watched=True))) == (False, 1.0)
    assert only(STANCE, held("pelvis-drops", ended=ended)).there


@pytest.mark.parametrize("ended", ["", "cap", "foot-down", "in own words"])
def test_a_trial_that_ended_as_trials_do_was_done(ended: str) -> None:
    assert told(only(STANCE, held(ended=ended))) == (False, 0.25)


def test_a_sign_of_one_leg_in_a_two_legged_test_speaks_for_that_leg_and_against_the_other() -> None:
    for_left, against_right = read(RISES, rose("pelvis-drops", sign_legs={"pelvis-drops": "left"}))
    assert (for_left.leg, *told(for_left)) == ("left", True, 1.0)
    assert (against_right.leg, *told(against_right)) == ("right", False, 0.25)
    assert (for_left.about, against_right.about) == ((1,), (3,))


def test_a_sign_of_both_legs_speaks_for_each() -> None:
    both = read(RISES, rose("pelvis-drops", sign_legs={"pelvis-drops": "both"}))
    assert [(one.leg, one.there) for one in both] == [("left", True), ("right", True)]
    in_turn = read(
        RISES,
        rose("pelvis-drops", sign_legs={"pelvis-drops": "left"}),
        rose("pelvis-drops", sign_legs={"pelvis-drops": "right"}),
    )
    assert [(one.leg, one.there) for one in in_turn] == [("left", True), ("right", True)]


def test_a_repeat_with_a_cue_is_no_sighting() -> None:
    spec = test_spec("stance", findings=[PELVIS], cues=[cue()])
    assert told(only(spec, held(), held("pelvis-drops", cue="level"))) == (False, 0.25)
    assert read(spec, held("pelvis-drops", cue="level")) == ()


def test_a_cell_by_age_is_taken_on_the_scale_of_log_odds() -> None:
    # Half-way between 20 and 80 of 100 lies 50; beyond the ages given the nearest holds.
    row = finding("pelvis-drops", none=10, hip={40: 20, 60: 80})
    spec = test_spec("stance", findings=[row])
    for age, share in ((30, 0.2), (40, 0.2), (50, 0.5), (60, 0.8), (90, 0.8)):
        one = only(spec, held("pelvis-drops"), client={"age": age})
        assert cells(one)[2] == pytest.approx(share)


@pytest.mark.parametrize(
    ("age", "test", "halved"), [(49, "rises", True), (50, "rises", False), (49, "stance", False)]
)
def test_what_the_young_do_well_on_both_legs_says_half_against_a_driver_of_one(
    age: int, test: str, halved: bool
) -> None:
    whole = protocol(STANCE, RISES)
    hip = next(one for one in whole.drivers if one.id == HIP)
    unless = NotMeasured(tests=("stance",), to_age=59, half_to_age=49, words="not measured")
    others = tuple(one for one in whole.drivers if one is not hip)
    young = whole.model_copy(
        update={"drivers": (hip.model_copy(update={"unless": unless}), *others)}
    )
    trial = rose(watched=True) if test == "rises" else held(watched=True)
    (one,) = evidence_of(Seen.of(young, session(trial, client={"age": age})))
    against = one.alone[1] - one.alone[0]
    assert against == pytest.approx(log(0.4 / 0.9) * (0.5 if halved else 1.0))


# ------------------------------------------------------------------ what repeats


def five_tests(row: dict[str, Any], *, sided: bool) -> list[TestSpec]:
    kind: dict[str, Any] = {} if sided else {"sides": "both", "load": "both-legs"}
    return [test_spec(f"test-{n}", findings=[row], **kind) for n in range(5)]


def test_of_one_trait_in_several_tests_each_further_one_says_less() -> None:
    trials = [held("pelvis-drops", test=f"test-{n}") for n in range(5)]
    found = read(five_tests(PELVIS, sided=True), *trials)
    assert [one.weight for one in found] == [1.0, 0.6, 0.3, 0.15, 0.15]


def test_the_strongest_counts_in_full_whatever_its_place() -> None:
    weak = finding("unsteady", none=10, hip=20, trait="pelvis")
    strong = finding("pelvis-drops", none=10, hip=60, trait="pelvis")
    spec = test_spec("stance", findings=[weak, strong])
    found = {one.what: one.weight for one in read(spec, held("unsteady", "pelvis-drops"))}
    assert found == {"pelvis-drops": 1.0, "unsteady": 0.6}
    # In pain the strong one says less: 0.4 of log 6 is 0.72, above log 2, so it stays in front.
    hurt = [held("pelvis-drops", ended="pain"), held("unsteady"), held("unsteady")]
    found = {one.what: one.weight for one in read(spec, *hurt)}
    assert found == pytest.approx({"pelvis-drops": 0.4 * 0.5 * 0.6, "unsteady": 1.0})


def test_what_was_seen_and_what_was_not_are_ranked_apart() -> None:
    rows = [finding(sign, none=10, hip=60, trait="pelvis") for sign in ("pelvis-drops", "unsteady")]
    spec = test_spec("stance", findings=rows)
    found = {one.what: told(one) for one in read(spec, held("unsteady", watched=True))}
    assert found == {"pelvis-drops": (False, 1.0), "unsteady": (True, 1.0)}


def test_what_tells_of_a_leg_is_a_trait_of_that_leg() -> None:
    both = [held("pelvis-drops"), held("pelvis-drops", side="right")]
    assert [one.weight for one in read(STANCE, *both)] == [1.0, 1.0]


def test_what_tells_of_the_person_is_one_trait_of_both_legs() -> None:
    spec = test_spec("stance", findings=[finding("unsteady", none=10, hip=15, style=60)])
    left, right = held("unsteady"), held("unsteady", side="right")
    # Neither leg comes first where it says as much: 1 and 0.6, shared.
    assert [one.weight for one in read(spec, left, right)] == [0.8, 0.8]
    weaker = right | {"ended": "pain"}
    assert [one.weight for one in read(spec, left, weaker)] == pytest.approx([1.0, 0.6 * 0.4])


def test_what_may_be_of_either_leg_takes_the_lesser_weight_of_the_two() -> None:
    # On the left the two-legged sign is the second of its trait; on the right it is the first.
    stance = test_spec("stance", findings=[finding("pelvis-drops", none=10, hip=70)])
    found = read([stance, RISES], held("pelvis-drops"), rose("pelvis-drops"))
    assert [(one.test, one.weight) for one in found] == [("stance", 1.0), ("rises", 0.6)]


# ------------------------------------------------------------------ numbers


def timed(*levels: dict[str, Any], **more: Any) -> TestSpec:
    """A hold: short below 10 s and very short below 5, unless other levels are given."""
    given = levels or (
        level("short", 10, none=20, hip=60), level("very short", 5, none=4, hip=30)
    )  # fmt: skip
    return test_spec("stance", graded=[graded(*given)], signs=[], **more)


@pytest.mark.parametrize(
    ("seconds", "there", "words", "likely"),
    [
        # Better than all levels, at the first, at the second; with nothing and with the hip.
        (10.0, False, "value 10.0 s: not short", (0.8, 0.4)),
        (9.9, True, "value 9.9 s: short", (0.16, 0.3)),
        (4.9, True, "value 4.9 s: very short", (0.04, 0.3)),
    ],
)
def test_a_number_is_one_finding_at_one_of_its_levels(
    seconds: float, there: bool, words: str, likely: tuple[float, float]
) -> None:
    one = only(timed(), held(value=seconds))
    assert (one.what, *told(one), one.words) == ("value", there, 1.0, words)
    nothing, _, hip, _ = cells(one)
    assert (nothing, hip) == pytest.approx(likely)


@pytest.mark.parametrize(("inclusive", "there"), [(False, False), (True, True)])
def test_the_limit_itself_belongs_to_the_level_where_it_says_so(
    inclusive: bool, there: bool
) -> None:
    assert only(timed(level("short", 10, hip=60, inclusive=inclusive)), held(value=10.0)).there is (
        there
    )


@pytest.mark.parametrize("seconds", [6.0, 8.0, 9.0, 10.0, 11.0, 12.0])
def test_near_a_limit_a_number_lies_on_either_side_by_its_error(seconds: float) -> None:
    spec = timed(level("short", 10, none=20, hip=60), errors=[error(value=2.0)])
    one = only(spec, held(value=seconds))
    short = NormalDist(10, 2).cdf(2 * 10 - seconds)
    nothing, _, hip, _ = cells(one)
    assert nothing == pytest.approx(short * 0.2 + (1 - short) * 0.8, abs=0.02)
    assert hip == pytest.approx(short * 0.6 + (1 - short) * 0.4, abs=0.02)
    assert one.there is (seconds < 10)


def test_at_its_limit_a_number_says_nothing_either_way_where_the_level_splits_evenly() -> None:
    spec = timed(level("short", 10, none=20, hip=60), errors=[error(value=2.0)])
    one = only(spec, held(value=10.0))
    assert cells(one) == pytest.approx([0.5, 0.5, 0.5, 0.5])


def test_a_count_lies_on_one_side_of_a_limit_or_the_other() -> None:
    # At least 10: nine and a half divides them, so ten is half a repetition away from it.
    spec = timed(
        level("few", 10, none=20, hip=60),
        errors=[error(value=1.0)],
        measures=[measure(decimals=0)],
    )
    for count, few in ((10.0, NormalDist().cdf(-0.5)), (9.0, NormalDist().cdf(0.5))):
        one = only(spec, held(value=count))
        assert cells(one)[0] == pytest.approx(few * 0.2 + (1 - few) * 0.8)
        assert one.there is (count == 9.0)


def test_a_floor_that_is_met_says_nothing() -> None:
    spec = timed(level("below what nearly all pass", 10, none=3, hip=40, floor=True))
    assert read(spec, held(value=20.0)) == ()
    assert only(spec, held(value=9.0)).there


def test_a_silent_level_says_nothing_and_passing_it_does() -> None:
    spec = timed(
        level("no better than usual", 10, none=60, hip=90, silent=True),
        level("short", 5, none=5, hip=40),
    )
    assert read(spec, held(value=8.0)) == ()
    assert told(only(spec, held(value=20.0))) == (False, 1.0)
    assert cells(only(spec, held(value=4.0)))[2] == pytest.approx(0.4)


def test_a_silent_level_near_the_next_says_as_much_as_the_chance_of_lying_there() -> None:
    spec = timed(
        level("no better than usual", 10, none=60, hip=90, silent=True),
        level("short", 5, none=5, hip=40),
        errors=[error(value=0.5)],
    )
    # At 5 s an even chance; the silent part is as likely with any driver as without.
    nothing, _, hip, _ = cells(only(spec, held(value=5.0)))
    assert nothing == pytest.approx(0.5 * 0.55 + 0.5 * 0.05)
    assert hip == pytest.approx(0.5 * 0.55 + 0.5 * 0.40)


@pytest.mark.parametrize(
    ("sex", "there"), [("female", True), ("male", False), ("unspecified", False)]
)
def test_of_two_limits_the_more_lenient_holds_where_the_sex_is_not_known(
    sex: str, there: bool
) -> None:
    limits = [
        {"from_age": 0, "to_age": 120, "sex": "female", "value": 10},
        {"from_age": 0, "to_age": 120, "sex": "male", "value": 6},
    ]
    spec = timed(level("short", none=20, hip=60, limits=limits))
    assert only(spec, held(value=8.0), client={"sex": sex}).there is there


def test_a_number_without_a_limit_for_the_age_says_nothing() -> None:
    limits = [{"from_age": 60, "to_age": 69, "value": 10}]
    spec = timed(level("short", none=20, hip=60, limits=limits))
    assert read(spec, held(value=8.0), client={"age": 70}) == ()
    assert only(spec, held(value=8.0), client={"age": 69}).there


@pytest.mark.parametrize(("steps", "there"), [(10, False), (6, True), (None, True)])
def test_a_limit_for_each_step_is_that_of_the_whole_flight(steps: int | None, there: bool) -> None:
    spec = test_spec(
        "stairs", sides="both", timer={"kind": "steps", "steps": 6, "min_split_s": 0.2},
        measures=[measure("time-up", better="lower")], signs=[], plausible={"minimum": 1,
        "maximum": 60},
        graded=[graded(level("slow", 0.5, none=10, hip=40, per_step=True))],
    )  # fmt: skip
    # Half a second a step: 5 s for ten, 3 s for the six of the test.
    trial = {"test": "stairs", "direction": "up", "value": 4.0, "steps": steps}
    assert only(spec, trial).there is there


@pytest.mark.parametrize(
    ("ended", "good", "poor"),
    [
        ("cap", [False], [True]),
        # Given up: only how poor it was is known.
        ("fatigue", [], [True]),
        ("breathless", [], [True]),
        ("unable", [], [True]),
        # Nobody knows how far it would have gone.
        ("fear", [], []),
        ("unsafe", [], []),
        ("pain", [], []),
    ],
)
def test_what_a_number_says_of_a_trial_that_was_ended(
    ended: str, good: list[bool], poor: list[bool]
) -> None:
    assert [one.there for one in read(timed(), held(value=20.0, ended=ended))] == good
    assert [one.there for one in read(timed(), held(value=3.0, ended=ended))] == poor


def test_a_good_number_counts_again_once_a_trial_was_done_to_its_end() -> None:
    assert not only(timed(), held(value=20.0, ended="fatigue"), held(value=20.0)).there


def test_a_number_that_is_not_of_strength_counts_in_pain_too() -> None:
    # How far a knee goes can be told in pain; how long it held cannot.
    levels = (level("short", 10, none=20, hip=60),)
    for strength, there in ((True, []), (False, [True])):
        own = [graded(*levels, strength=strength)]
        spec = test_spec("stance", graded=own, signs=["pain-limits"])
        assert [one.there for one in read(spec, held("pain-limits", value=5.0))] == there


def rising(**more: Any) -> TestSpec:
    seat = {"id": "seat_cm", "label": "Seat", "usual": 43, "unit": "cm", "minimum": 30,
            "maximum": 60}  # fmt: skip
    return test_spec(
        "rises", sides="both", load="both-legs", signs=["hands-used"],
        timer={"kind": "time-for-count", "count": 5, "min_split_s": 0.4, "end_point": "sit"},
        plausible={"minimum": 2, "maximum": 120}, measures=[measure(better="lower")],
        set_up=[seat], graded=[graded(level("slow", 15, none=20, hip=60))], **more,
    )  # fmt: skip


def test_a_good_number_of_an_easier_set_up_says_nothing_and_a_poor_one_does() -> None:
    assert not only(rising(), rose(seat_cm=43)).there
    assert not only(rising(), rose()).there
    assert read(rising(), rose(seat_cm=55)) == ()
    assert only(rising(), rose(value=20.0, seat_cm=55)).there


def test_rising_with_the_hands_says_nothing_by_its_time() -> None:
    assert read(rising(), rose("hands-used", value=20.0)) == ()


# ------------------------------------------------------------------ conditions


def described(**when: Any) -> dict[str, Any]:
    strength = when.pop("strength", False)
    return finding(none=10, hip=50, words="so it was", when=when, strength=strength)


def test_a_condition_is_there_or_not_and_either_says_it_in_full() -> None:
    spec = test_spec("stance", findings=[described(measure="value", at_most=10.0)], signs=[])
    there, absent = only(spec, held(value=9.0)), only(spec, held(value=11.0))
    assert (there.words, *told(there)) == ("so it was", True, 1.0)
    assert (absent.words, *told(absent)) == ("so it was: not so", False, 1.0)
    assert cells(absent) == pytest.approx([0.9, 0.9, 0.5, 0.9])


@pytest.mark.parametrize("ended", ["fear", "unsafe", "pain"])
def test_a_condition_on_a_number_is_not_judged_where_it_was_not_measured(ended: str) -> None:
    spec = test_spec("stance", findings=[described(measure="value", at_most=10.0)], signs=[])
    assert read(spec, held(value=9.0, ended=ended)) == ()


def test_how_a_trial_ended_is_known_and_that_it_did_not_end_so_is_as_a_sign_not_marked() -> None:
    spec = test_spec("stance", findings=[described(ended_any=["fatigue", "fear"])], signs=[])
    assert told(only(spec, held(ended="fatigue"))) == (True, 1.0)
    assert told(only(spec, held())) == (False, 0.25)
    assert told(only(spec, held(watched=True))) == (False, 1.0)
    # Given up for another reason: it may have come to this one.
    assert read(spec, held(ended="pain")) == ()


def test_what_is_of_strength_is_silent_in_pain() -> None:
    rows = [described(signs_any=["unsteady"], strength=True)]
    spec = test_spec("stance", findings=rows)
    assert read(spec, held("unsteady", ended="pain")) == ()
    assert only(spec, held("unsteady", ended="pain"), held("unsteady")).there


def test_signs_of_a_condition_seen_in_pain_only_say_two_fifths() -> None:
    spec = test_spec("stance", findings=[described(signs_any=["unsteady"])])
    hurt = held("unsteady", ended="pain")
    one = only(spec, hurt)
    assert (*told(one), one.in_pain) == (True, 0.4, True)
    free = only(spec, hurt, held("unsteady"))
    assert (*told(free), free.in_pain) == (True, 1.0, False)


def test_slowing_that_was_not_known_is_not_absent() -> None:
    spec = test_spec(
        "rises", sides="both", signs=[], measures=[measure(better="lower")],
        timer={"kind": "time-for-count", "count": 6, "min_split_s": 0.4, "end_point": "sit"},
        plausible={"minimum": 2, "maximum": 120}, findings=[described(slowing_percent=20.0)],
    )  # fmt: skip
    even, slower = [2.0, 4.0, 6.0, 8.0, 10.0, 12.0], [2.0, 4.0, 6.0, 8.0, 10.4, 12.8]
    assert read(spec, rose(value=12.0)) == ()
    assert not only(spec, rose(value=12.0, splits=even)).there
    assert only(spec, rose(value=12.8, splits=slower)).there


def test_a_difference_between_the_legs_needs_a_fair_number_of_both() -> None:
    spec = test_spec(
        "stance", findings=[described(measure="value", worse_than_other_percent=40)], signs=[]
    )
    left, right = held(value=10.0), held(value=20.0, side="right")
    assert read(spec, left) == ()
    assert read(spec, left, right | {"ended": "pain"}) == ()
    found = read(spec, left, right)
    assert [(one.leg, one.there) for one in found] == [("left", True), ("right", False)]


def test_one_way_slower_than_the_other_needs_both_ways() -> None:
    spec = test_spec(
        "stairs", sides="both", signs=[], plausible={"minimum": 1, "maximum": 60},
        timer={"kind": "steps", "steps": 6, "min_split_s": 0.1},
        measures=[measure("time-up", id="up", better="lower"),
                  measure("time-down", id="down", better="lower")],
        findings=[described(measure="down", slower_than="up", by_percent=20.0)],
    )  # fmt: skip
    flights = [
        {"test": "stairs", "direction": way, "value": value}
        for way, value in (("up", 10.0), ("down", 12.0), ("down", 11.9))
    ]
    assert read(spec, flights[1]) == ()
    assert only(spec, *flights[:2]).there
    assert not only(spec, flights[0], flights[2]).there


# ------------------------------------------------------------------ cues


def cued(*rows: dict[str, Any], **more: Any) -> TestSpec:
    return test_spec(
        "stance", cues=[cue()], cue_effects=rows,
        **{"lines": [line("value", "at least", 10.0)], "errors": [error(value=1.0)], **more},
    )  # fmt: skip


GONE = cue_row("level", "pelvis-drops", none=20, hip=60)


@pytest.mark.parametrize(
    ("before", "after", "found"),
    [
        (["pelvis-drops"], [], [(True, "pelvis drops gone")]),
        (["pelvis-drops"], ["pelvis-drops"], [(False, "pelvis drops still there")]),
        ([], [], []),
        ([], ["pelvis-drops"], []),
    ],
)  # fmt: skip
def test_a_cue_took_a_sign_away_or_left_it_or_had_nothing_to_take(
    before: list[str], after: list[str], found: list[tuple[bool, str]]
) -> None:
    made = read(cued(GONE), held(*before), held(*after, cue="level"))
    told = [(there, f"with the cue level: {words}") for there, words in found]
    assert [(one.there, one.words) for one in made] == told
    assert all((one.what, one.cue, one.trait, one.weight)
               == ("level/pelvis-drops", "level", "cue-level", 1.0) for one in made)  # fmt: skip


def test_what_a_cue_does_is_as_likely_as_its_row_says_for_each_driver_alone() -> None:
    spec = cued(GONE, findings=[PELVIS])
    _, one = read(spec, held("pelvis-drops"), held(cue="level"))
    assert one.what == "level/pelvis-drops"
    nothing, style, hip, _ = cells(one)
    # With nothing, and with strategy, which does not show the sign, chance alone took it away;
    # beside the hip, the leak had its part in the sign: the mean of the two, by their parts.
    assert nothing == style == pytest.approx(0.2)
    leak, own = -log(1 - 0.1), -log(0.4 / 0.9)
    assert hip == pytest.approx(exp((leak * log(0.2) + own * log(0.6)) / (leak + own)))


def test_a_cue_that_was_not_tried_says_nothing() -> None:
    assert read(cued(GONE), held("pelvis-drops")) == ()


@pytest.mark.parametrize(
    ("later", "undone"), [(["pelvis-drops"], True), (["unsteady"], False), (None, False)]
)
def test_what_comes_back_without_the_cue_undoes_it(later: list[str] | None, undone: bool) -> None:
    trials = [held("pelvis-drops"), held(cue="level")]
    trials += [] if later is None else [held(*later)]
    (one,) = read(cued(GONE), *trials)
    assert (one.there, one.undone) == (True, undone)


def test_a_trial_of_the_other_leg_or_one_struck_out_does_not_undo_it() -> None:
    back = held("pelvis-drops")
    for other in (back | {"side": "right"}, back | {"void": "helped"}, back | {"cue": "level"}):
        found = read(cued(GONE), back, held(cue="level"), other)
        assert not any(one.undone for one in found)


EASED = cue_row("level", "pain-eased", none=15, hip=40)


@pytest.mark.parametrize(
    ("before", "after", "there"),
    [(5, 3, [True]), (5, 4, [False]), (2, 0, [True]), (1, 0, []), (None, 0, []), (5, None, [])],
)
def test_pain_is_eased_by_two_points_of_two_or_more(
    before: int | None, after: int | None, there: list[bool]
) -> None:
    made = read(cued(EASED), held(pain=before), held(pain=after, cue="level"))
    assert [one.there for one in made] == there


@pytest.mark.parametrize(("again", "undone"), [(5, True), (4, False), (None, False)])
def test_pain_that_comes_back_by_two_points_undoes_it(again: int | None, undone: bool) -> None:
    (one,) = read(cued(EASED), held(pain=5), held(pain=3, cue="level"), held(pain=again))
    assert one.undone is undone


FASTER = cue_row("level", "faster", none=15, hip=40)


@pytest.mark.parametrize(
    ("after", "there"),
    [
        # From 5 s; a standard error of 1, so 2.77 s are the least change that is one.
        (7.8, [True]),
        (7.7, [False]),
        (4.0, [False]),
    ],
)
def test_better_with_a_cue_is_better_beyond_the_error(after: float, there: list[bool]) -> None:
    made = read(cued(FASTER), held(value=5.0), held(value=after, cue="level"))
    assert [one.there for one in made] == there


def test_what_was_not_short_or_has_no_known_error_cannot_be_better() -> None:
    assert read(cued(FASTER), held(value=15.0), held(value=19.0, cue="level")) == ()
    assert read(cued(FASTER, errors=[]), held(value=5.0), held(value=19.0, cue="level")) == ()


def test_not_faster_never_counts_against_a_cue_that_took_the_pain_away() -> None:
    def found(after: int) -> dict[str, bool]:
        plain, with_cue = held(value=5.0, pain=5), held(value=5.0, pain=after, cue="level")
        return {one.what: one.there for one in read(cued(FASTER, EASED), plain, with_cue)}

    assert found(3) == {"level/pain-eased": True}
    assert found(5) == {"level/pain-eased": False, "level/faster": False}


@pytest.mark.parametrize(("after", "there"), [(7.4, False), (7.5, True)])
def test_longer_is_half_as_long_again(after: float, there: bool) -> None:
    spec = cued(cue_row("level", "longer", none=15, hip=40), errors=[])
    assert only(spec, held(value=5.0), held(value=after, cue="level")).there is there


@pytest.mark.parametrize(("after", "there"), [(9.9, False), (10.0, True)])
def test_within_the_cut_off_is_on_the_good_side_of_the_line(after: float, there: bool) -> None:
    spec = cued(cue_row("level", "within-cut-off", none=15, hip=40))
    assert only(spec, held(value=5.0), held(value=after, cue="level")).there is there


def test_what_one_cue_changed_is_of_one_trait() -> None:
    spec = cued(GONE, EASED)
    found = read(spec, held("pelvis-drops", pain=5), held(pain=3, cue="level"))
    # A sign that goes three times as often says more than pain eased at 40 against 15.
    assert {one.what: one.weight for one in found} == {
        "level/pelvis-drops": 1.0, "level/pain-eased": 0.6,
    }  # fmt: skip


# ------------------------------------------------------------------ circumstances


def hip_share(instead: str, *trials: dict[str, Any], **more: Any) -> float:
    """The cell of the hip for the left leg, which is 90 in that circumstance and 60 else."""
    other = [{"when": instead, "in_100": {HIP: 90}}]
    stance = test_spec("stance", findings=[PELVIS | {"instead": other}])
    fields = [
        {"id": f"{way}_deg", "label": way, "minimum": -30, "maximum": 90, "hint": "h"}
        for way in ("passive", "active")
    ]
    knee = test_spec(
        "knee-extension", load="unloaded", signs=["knee-swollen"],
        timer={"kind": "measure", "fields": fields},
        measures=[measure("deficit", id="deficit", unit="deg", better="lower")],
    )  # fmt: skip
    made = read([stance, knee], held("pelvis-drops", **more.pop("trial", {})), *trials, **more)
    one = next(one for one in made if one.test == "stance" and one.leg == "left")
    return round(cells(one)[2], 3)


def knee(degrees: float, *signs: str, side: str = "left") -> dict[str, Any]:
    return {"test": "knee-extension", "side": side, "passive_deg": degrees, "signs": signs}


@pytest.mark.parametrize(
    ("weeks", "side", "share"),
    [(12, "left", 0.9), (12, "both", 0.9), (12, "right", 0.6), (13, "left", 0.6),
     (None, "left", 0.6)],
)  # fmt: skip
def test_early_after_surgery_is_within_twelve_weeks_on_the_side_of_the_complaint(
    weeks: int | None, side: str, share: float
) -> None:
    intake = {"recent_surgery_weeks": weeks, "side": side}
    assert hip_share("early-after-surgery", intake=intake) == share


@pytest.mark.parametrize(("side", "share"), [("left", 0.9), ("right", 0.6)])
def test_a_swollen_knee_is_one_of_that_leg(side: str, share: float) -> None:
    assert hip_share("swollen", knee(0, "knee-swollen", side=side)) == share
    assert hip_share("swollen", knee(0)) == 0.6


@pytest.mark.parametrize(("footwear", "share"), [("shoes", 0.9), ("barefoot", 0.6), ("", 0.6)])
def test_shoes_count_where_they_were_noted(footwear: str, share: float) -> None:
    assert hip_share("shod", trial={"footwear": footwear}) == share


@pytest.mark.parametrize(("degrees", "share"), [(4.9, 0.6), (5.0, 0.9)])
def test_short_of_straight_is_five_degrees(degrees: float, share: float) -> None:
    assert hip_share("short-of-straight", knee(degrees)) == share
    assert hip_share("short-of-straight", knee(degrees, side="right")) == 0.6


# ------------------------------------------------------------------ the causes in order


def test_the_person_comes_first_then_the_left_leg_then_the_right() -> None:
    causes = Causes.of(protocol(STANCE))
    assert [(one.driver.split("-")[0], one.side) for one in causes.all] == [
        ("movement", None), ("hip", "left"), ("foot", "left"), ("hip", "right"), ("foot", "right"),
    ]  # fmt: skip
    assert causes.about("left") == (0, 1, 2)
    assert causes.about("right") == (0, 3, 4)
    assert causes.about(None) == (0, 1, 2, 3, 4)
    row = FindingRow.model_validate(finding("pelvis-drops", none=10, hip=60))
    shares = causes.shares(row, 50, ())
    assert (shares.leak, shares.alone) == (0.1, {1: 0.6, 3: 0.6})
    assert in_100(10, hip=60) == {"none": 10, HIP: 60}
