"""Two visits compared: worked by hand against published errors, and every bar to comparing."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from support.small_protocol import (
    STARTED,
    error,
    measure,
    protocol,
    session,
    test_spec,
)

from screen_tui.engine.change import Change, compare, digest_remarks
from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.model import Session

SHIPPED = load_protocol([protocols_folder()])
LATER = STARTED + timedelta(days=42)


def visit(*trials: dict[str, Any], **more: Any) -> Session:
    return session(*trials, protocol="chairside-knee", **more)


def change(
    then: list[dict[str, Any]], now: list[dict[str, Any]], measure: str, side: str | None = None
) -> Change:
    """The one change of that measure, by the shipped protocol."""
    found = compare(SHIPPED, visit(*then), visit(*now, started=LATER))
    return next(one for one in found if (one.measure, one.side) == (measure, side))


def one(test: str, **more: Any) -> list[dict[str, Any]]:
    return [{"test": test, **more}]


@pytest.mark.parametrize(
    ("test", "measure", "then", "now", "verdict"),
    [
        # Walking speed over 4 m: Beauchamp 2021, J Gerontol A 76:2030-2038 (abstract): MDC90
        # 0.20 m/s. SEM = 0.20 / 2.326 = 0.0860, MDC95 = 2.772 * 0.0860 = 0.238 m/s.
        # 4 m in 5.00 s is 0.80 m/s; 3.85 s is 1.039 (+0.239), 3.86 s is 1.036 (+0.236).
        ("walk-4m", "speed", 5.00, 3.85, "better"),
        ("walk-4m", "speed", 5.00, 3.86, "within error"),
        ("walk-4m", "speed", 3.85, 5.00, "worse"),
        # Five chair stands and timed up and go, one to four months apart: Donoghue 2019, BMJ Open
        # 9:e030475 (abstract): 4.52 and 2.08 s; a change of just that is one.
        ("five-chair-stands", "time", 14.0, 9.48, "better"),
        ("five-chair-stands", "time", 14.0, 9.49, "within error"),
        ("five-chair-stands", "time", 14.0, 18.52, "worse"),
        ("timed-up-and-go", "time", 11.0, 8.92, "better"),
        ("timed-up-and-go", "time", 11.0, 8.93, "within error"),
        ("timed-up-and-go", "time", 11.0, 13.08, "worse"),
        # Stands in 30 s: the one error, Gill 2022, is of trials one or two minutes apart.
        ("chair-stands-30s", "stands", 10, 20, "no published error"),
    ],
)
def test_a_change_is_one_beyond_the_published_error(
    test: str, measure: str, then: float, now: float, verdict: str
) -> None:
    assert change(one(test, value=then), one(test, value=now), measure).verdict == verdict


@pytest.mark.parametrize(
    ("now", "verdict"),
    # Single-leg stance: Beauchamp 2021 (abstract): MDC90 22.8 s, so MDC95 27.17 s.
    [(37.1, "within error"), (37.2, "better")],
)
def test_almost_no_change_of_a_stance_exceeds_its_error(now: float, verdict: str) -> None:
    held = [one("single-leg-stance", side="left", value=value) for value in (10.0, now)]
    assert change(*held, "time", "left").verdict == verdict


def test_extension_is_held_against_the_error_of_two_angles_across_visits() -> None:
    # Goniometry 2024, J Knee Surg, doi 10.1055/a-2321-0516 (abstract): MDC95 of one angle across
    # visits up to 5.4 degrees; a deficit is the difference of two: 5.4 * 1.414 = 7.6.
    then, near, far = (
        one("knee-extension", side="left", passive_deg=deg, active_deg=deg) for deg in (10, 2.5, 2)
    )
    assert change(then, near, "deficit", "left").verdict == "within error"
    assert change(then, far, "deficit", "left").verdict == "better"


def test_an_error_of_two_trials_says_nothing_of_two_visits() -> None:
    # Almeida 2010, Arch Phys Med Rehabil 91:932-938 (abstract): two raters on one visit.
    flight = {"direction": "up", "steps": 11, "riser_cm": 17.0}
    then, now = (one("stair-steps", value=value, **flight) for value in (20.0, 9.0))
    assert change(then, now, "up").verdict == "no published error"


def test_a_further_published_error_that_says_otherwise_is_named() -> None:
    # 5 s is beyond 4.52 s (Donoghue 2019) and not beyond Beauchamp 2021, MDC90 5.2 s, so MDC95
    # 6.2 s; 6.3 s is beyond both.
    by = [one("five-chair-stands", value=value) for value in (14.0, 9.0, 7.7)]
    small, large = (change(by[0], now, "time") for now in by[1:])
    assert small.error is not None
    assert small.error.source == "donoghue-2019"
    assert small.disagrees is not None
    assert small.disagrees.source == "beauchamp-2021"
    assert small.disagrees.mdc95 == pytest.approx(6.197, abs=0.001)
    assert large.disagrees is None


@pytest.mark.parametrize(
    ("then", "now", "verdict"),
    [(49, 49, "no published error"), (49, 50, "no published error"), (50, 50, "better")],
)
def test_an_error_holds_for_the_ages_it_was_measured_at(then: int, now: int, verdict: str) -> None:
    # Donoghue 2019 and Beauchamp 2021: adults from 50.
    first, second = (
        visit(*one("five-chair-stands", value=value), client={"age": age}, started=started)
        for value, age, started in ((14.0, then, STARTED), (9.0, now, LATER))
    )
    (found,) = compare(SHIPPED, first, second)
    assert found.verdict == verdict


LEFT = {"side": "left"}


@pytest.mark.parametrize(
    ("ages", "test", "measure", "then", "now", "verdict", "source"),
    [
        # Timed up and go: Alghadir et al 2015, BMC Musculoskelet Disord 16:174: 45 to 70 years,
        # MDC95 1.10 s; Donoghue et al 2019, BMJ Open 9:e030475: from 50, 2.08 s, which comes first.
        ((44, 44), "timed-up-and-go", "time", 11.0, 6.0, "no published error", None),
        ((45, 45), "timed-up-and-go", "time", 11.0, 9.90, "better", "alghadir-2015"),
        ((49, 50), "timed-up-and-go", "time", 11.0, 9.91, "within error", "alghadir-2015"),
        ((60, 60), "timed-up-and-go", "time", 11.0, 9.5, "within error", "donoghue-2019"),
        ((70, 71), "timed-up-and-go", "time", 11.0, 8.92, "better", "donoghue-2019"),
        # Walking speed: Beauchamp et al 2021, J Gerontol A 76:2030-2038: from 50, MDC90 0.20 m/s,
        # so MDC95 0.20 * 2.772 / 2.326 = 0.238; 4 m in 4.00 s is 1.00 m/s, in 3.20 s 1.25 m/s.
        ((49, 49), "walk-4m", "speed", 4.0, 3.2, "no published error", None),
        ((50, 50), "walk-4m", "speed", 4.0, 3.2, "better", "beauchamp-2021"),
        ((85, 86), "walk-4m", "speed", 4.0, 3.3, "within error", "beauchamp-2021"),
        # Stance: the same, from 50, MDC90 22.8 s, so MDC95 22.8 * 2.772 / 2.326 = 27.17 s.
        ((30, 30), "single-leg-stance", "time", 5.0, 40.0, "no published error", None),
        ((50, 51), "single-leg-stance", "time", 5.0, 32.2, "better", "beauchamp-2021"),
        # Heel raises: Hebert-Losier et al 2017, Physiotherapy 103:446-452: 20 to 81 years, 6.4.
        ((19, 20), "heel-raise", "count", 10, 25, "no published error", None),
        ((20, 20), "heel-raise", "count", 18, 25, "better", "hebert-losier-2017"),
        ((81, 81), "heel-raise", "count", 18, 12, "within error", "hebert-losier-2017"),
        ((81, 82), "heel-raise", "count", 18, 11, "no published error", None),
        # Knee to wall: Powden et al 2015, Man Ther 20:524-532: adults, same rater, 1.9 cm.
        ((18, 18), "knee-to-wall", "distance", 8.0, 9.9, "better", "powden-2015"),
        ((17, 18), "knee-to-wall", "distance", 8.0, 12.0, "no published error", None),
        ((40, 40), "knee-to-wall", "distance", 8.0, 6.2, "within error", "powden-2015"),
        # Five chair stands: Donoghue 2019, from 50, 4.52 s.
        ((49, 49), "five-chair-stands", "time", 20.0, 9.0, "no published error", None),
        ((88, 88), "five-chair-stands", "time", 20.0, 15.48, "better", "donoghue-2019"),
    ],
)
def test_a_change_is_held_against_the_error_of_its_age_group_alone(
    ages: tuple[int, int],
    test: str,
    measure: str,
    then: float,
    now: float,
    verdict: str,
    source: str | None,
) -> None:
    side = LEFT if SHIPPED.test(test).sided else {}
    first, second = (
        visit(*one(test, value=value, **side), client={"age": age}, started=started)
        for value, age, started in zip((then, now), ages, (STARTED, LATER), strict=True)
    )
    found = next(one for one in compare(SHIPPED, first, second) if one.measure == measure)
    assert (found.verdict, found.error and found.error.source) == (verdict, source)


def test_another_error_of_the_same_age_group_is_named_and_of_another_not() -> None:
    # 1.5 s is beyond 1.10 s (Alghadir 2015, 45 to 70) and not beyond 2.08 s (Donoghue 2019, from
    # 50) nor beyond 2.3 * 2.772 / 2.326 = 2.74 s (Beauchamp 2021, from 50).
    named = {}
    for age in (60, 75):
        first, second = (
            visit(*one("timed-up-and-go", value=value), client={"age": age}, started=started)
            for value, started in ((11.0, STARTED), (9.5, LATER))
        )
        (found,) = compare(SHIPPED, first, second)
        named[age] = found.disagrees and found.disagrees.source
    assert named == {60: "alghadir-2015", 75: None}


def test_both_numbers_and_their_difference_are_shown_in_the_unit_of_the_measure() -> None:
    found = change(one("walk-4m", value=5.0), one("walk-4m", value=4.0), "speed")
    assert (found.then.value, found.now.value, found.unit) == (0.8, 1.0, "m/s")
    assert found.difference == pytest.approx(0.2)
    assert found.better_when == "higher"


def test_without_a_published_error_a_change_is_not_judged() -> None:
    found = change(one("floor-rise", value=9.0), one("floor-rise", value=4.0), "time")
    assert (found.verdict, found.difference, found.error) == ("no published error", -5.0, None)


# ------------------------------------------------------------------ what cannot be compared

HELD = {"test": "stance", "side": "left"}
SMALL = protocol(test_spec("stance", errors=[error("visits")]))


def stances(then: dict[str, Any], now: dict[str, Any]) -> Change:
    """The change of a stance on the left; its error is 5.544 s, its full time 45 s."""
    (found,) = compare(SMALL, session(HELD | then), session(HELD | now, started=LATER))
    return found


def barred(found: Change) -> str:
    assert found.verdict == "not comparable"
    assert (found.difference, found.at_least) == (None, False)
    return found.why_not


def test_hands_used_at_one_visit_bar_comparing_and_are_named() -> None:
    free, hands = (
        one("five-chair-stands", value=14.0),
        one("five-chair-stands", value=10.0, signs=["hands-used"]),
    )
    assert barred(change(free, hands, "time")) == "hands used now"
    assert barred(change(hands, free, "time")) == "hands used then"
    assert barred(change(hands, hands, "time")) == "hands used both times"


@pytest.mark.parametrize(
    ("test", "measure", "then", "now", "words"),
    [
        ("five-chair-stands", "time", {"seat_cm": 50.0}, {}, "seat 50 cm then, seat 43 cm now"),
        ("walk-4m", "speed", {}, {"aid": "stick"}, "no aid then, stick now"),
    ],
)
def test_another_set_up_bars_comparing_and_is_named(
    test: str, measure: str, then: dict[str, Any], now: dict[str, Any], words: str
) -> None:
    found = change(one(test, value=5.0, **then), one(test, value=5.0, **now), measure)
    assert barred(found) == words


def test_other_steps_and_other_risers_are_other_stairs() -> None:
    def flight(steps: int, riser: float | None) -> list[dict[str, Any]]:
        return one("stair-steps", direction="up", value=9.0, steps=steps, riser_cm=riser)

    assert barred(change(flight(10, 17.0), flight(12, 17.0), "up")) == "10 steps then, 12 steps now"
    assert barred(change(flight(10, 17.0), flight(10, 19.0), "up")) == (
        "riser 17 cm then, riser 19 cm now"
    )
    unknown = change(flight(10, 17.0), flight(10, None), "up")
    assert unknown.verdict == "no published error"
    assert "riser was not recorded" in " ".join(unknown.remarks)


def test_a_riser_noted_at_one_flight_is_that_of_all() -> None:
    flight = {"test": "stair-steps", "direction": "up", "value": 9.0, "steps": 10}
    then = [flight, flight | {"riser_cm": 17.0}]
    assert barred(change(then, [flight | {"riser_cm": 19.0}], "up")) == (
        "riser 17 cm then, riser 19 cm now"
    )


def test_a_step_of_another_height_is_another_step_down() -> None:
    low, high = (
        one("step-down", side="left", step_cm=height, signs=["pelvis-drops"])
        for height in (15.0, 20.0)
    )
    assert barred(change(low, high, "points", "left")) == "step 15 cm then, step 20 cm now"


def test_pain_in_every_trial_bars_comparing() -> None:
    plain, sore = {"value": 20.0}, {"value": 20.0, "ended": "pain"}
    assert barred(stances(plain, sore)) == "pain limited every trial now"
    assert barred(stances(sore, plain)) == "pain limited every trial then"
    assert barred(stances(sore, sore)) == "pain limited every trial both times"


def test_two_full_holds_tell_nothing() -> None:
    full = {"value": 45.0, "ended": "cap"}
    assert barred(stances(full, full)) == "full time both times"


def test_one_full_hold_is_a_change_of_at_least_as_much() -> None:
    full = {"value": 45.0, "ended": "cap"}
    better = stances({"value": 30.0}, full)
    assert (better.verdict, better.at_least, better.difference) == ("better", True, 15.0)
    worse = stances(full, {"value": 30.0})
    assert (worse.verdict, worse.at_least, worse.difference) == ("worse", True, -15.0)


def test_one_full_hold_whose_least_change_is_within_the_error_leaves_it_open() -> None:
    full = {"value": 45.0, "ended": "cap"}
    assert barred(stances({"value": 42.0}, full)) == (
        "full time now, and what is known of the change is within the error"
    )
    assert barred(stances({"value": 45.0}, {"value": 44.0})).startswith("full time then, and what")
    # An older, shorter limit: the full hold then is no shorter than what came after.
    assert barred(stances({"value": 10.0, "ended": "cap"}, {"value": 30.0})) == (
        "full time then, and not shorter the other time"
    )


def test_only_the_best_hold_can_have_been_cut_short_by_the_clock() -> None:
    then = [HELD | {"value": 10.0, "ended": "cap"}, HELD | {"value": 20.0}]
    (found,) = compare(SMALL, session(*then), session(HELD | {"value": 30.0}))
    assert (found.verdict, found.at_least) == ("better", False)


def test_what_was_measured_at_one_visit_only_says_why() -> None:
    trial = {"test": "stance", "side": "left", "value": 20.0}
    (left,) = compare(SMALL, session(trial), session())
    assert barred(left) == "not tested now"
    skip = [{"test": "stance", "side": "left", "reason": "not safe today"}]
    (skipped,) = compare(SMALL, session(trial), session(skipped=skip))
    assert barred(skipped) == "not tested (not safe today) now"
    unable = stances({"ended": "unable"}, {"value": 3.0})
    assert barred(unable) == "could not be done then"
    assert barred(stances({}, {})) == "no value was recorded, both times"
    # What was done at neither visit is not told of.
    assert compare(SMALL, session(skipped=skip), session()) == ()


def test_every_bar_is_named_not_only_the_first() -> None:
    found = change(
        one("five-chair-stands", value=14.0, signs=["hands-used"], seat_cm=50.0),
        one("five-chair-stands", value=14.0, ended="pain"),
        "time",
    )
    assert barred(found) == (
        "pain limited every trial now; hands used then; seat 50 cm then, seat 43 cm now"
    )


def test_a_deficit_against_the_other_knee_is_not_held_against_one_that_was_not() -> None:
    alone = one("knee-extension", side="left", passive_deg=8, active_deg=8)
    both = [*alone, {"test": "knee-extension", "side": "right", "passive_deg": -5}]
    assert barred(change(alone, both, "deficit", "left")) == (
        "held against the other knee now only"
    )


def test_of_trials_set_up_in_two_ways_only_those_alike_are_compared() -> None:
    then = one("five-chair-stands", value=14.0)
    now = [
        {"test": "five-chair-stands", "value": 5.0, "seat_cm": 50.0},
        {"test": "five-chair-stands", "value": 13.0},
    ]
    assert change(then, now, "time").difference == -1.0


def test_cued_and_struck_out_trials_make_no_change() -> None:
    (found,) = compare(
        SMALL,
        session(HELD | {"value": 20.0}),
        session(HELD | {"value": 40.0, "void": "wrong leg"}, HELD | {"value": 21.0}),
    )
    assert found.difference == 1.0


def test_what_does_not_bar_comparing_is_remarked_on() -> None:
    then = [{"test": "single-leg-stance", "side": "left", "value": v, "pain": 6} for v in (9, 10)]
    now = one("single-leg-stance", side="left", value=12.0, footwear="shoes")
    assert change(then, now, "time", "left").remarks == (
        "2 trials then, 1 trial now",
        "footwear: barefoot then, shoes now",
        "pain above 5 of 10 then",
    )
    aids = [one("walk-4m", value=5.0, signs=["walking-aid"]) for _ in range(2)]
    assert "the aid was not recorded" in " ".join(change(*aids, "speed").remarks)


def test_power_is_left_out_where_height_and_mass_are_not_known() -> None:
    rises = one("chair-stands-30s", value=10)
    found = compare(SHIPPED, visit(*rises), visit(*rises))
    assert [one.measure for one in found] == ["stands"]
    sizes = {"height_cm": 165.0, "mass_kg": 70.0}
    known = compare(SHIPPED, visit(*rises), visit(*rises, client=sizes))
    assert [(one.measure, one.why_not) for one in known] == [
        ("stands", ""),
        ("power", "no value was recorded then"),
    ]


@pytest.mark.parametrize(
    ("then", "now", "said"),
    [
        ("", "", None),
        ("today", "today", None),
        ("today", "", None),
        ("a", "a", "since these visits"),
        ("a", "today", "between these visits"),
        ("", "a", "since these visits"),
    ],
)
def test_a_protocol_that_changed_is_remarked_on(then: str, now: str, said: str | None) -> None:
    digests = [SMALL.digest if digest == "today" else digest for digest in (then, now)]
    visits = [session(protocol_digest=digest) for digest in digests]
    remarks = digest_remarks(SMALL, *visits)
    assert bool(remarks) == (said is not None)
    assert said is None or said in remarks[0]


def test_the_way_that_is_better_is_the_measure_s_own() -> None:
    spec = test_spec("stance", errors=[error("visits")], measures=[measure(better="lower")])
    visits = [session(HELD | {"value": value}) for value in (20.0, 10.0)]
    (found,) = compare(protocol(spec), *visits)
    assert found.verdict == "better"
