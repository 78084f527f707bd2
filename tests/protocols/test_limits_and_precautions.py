"""What is not done early after surgery, what the plan heeds, and how it does so.

The limits are clinical judgement; where a figure has a source, it stands beside it.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from shipped_protocol import shipped
from support.small_protocol import session

from screen_tui.engine import assess
from screen_tui.engine.results import Assessment
from screen_tui.engine.safety import (
    limits_of,
    loads_allowed,
    unloaded_only,
    why_not_allowed,
)
from screen_tui.report.machine import assessment_as_dict
from screen_tui.report.note import write_note
from screen_tui.report.patient_sheet import write_patient_sheet
from screen_tui.session.model import Intake, Session
from screen_tui.trial.intake_questions import questions_of


def after(weeks: int, **more: Any) -> Intake:
    return Intake.model_validate({"recent_surgery_weeks": weeks, **more})


def not_offered(intake: Intake) -> set[str]:
    return {spec.id for spec in shipped().tests if why_not_allowed(shipped(), intake, spec)}


SHORT = {"test": "tandem-stance", "value": 10.0, "ended": "cap"}
"""A trial that shows nothing, so that no driver is named."""

ONE_LEG = {"single-leg-stance", "step-down", "stair-steps", "floor-rise"}


@pytest.mark.parametrize(
    ("weeks", "confirmed", "expected"),
    [
        (1, False, ONE_LEG),
        (1, True, {"step-down", "stair-steps", "floor-rise"}),
        (5, True, {"step-down", "stair-steps", "floor-rise"}),
        (6, True, set()),
        (6, False, ONE_LEG),
        (11, False, ONE_LEG),
        (12, False, set()),
    ],
)
def test_full_weight_alone_opens_no_one_leg_test_under_12_weeks(
    weeks: int, confirmed: bool, expected: set[str]
) -> None:
    intake = after(weeks, one_leg_confirmed=confirmed, surgery="other")
    assert not_offered(intake) & ONE_LEG == expected


@pytest.mark.parametrize(
    ("order", "weeks", "asks"),
    [
        ("full", "", False),
        ("as-tolerated", "", True),
        ("full", "11", True),
        ("full", "12", False),
        ("touch", "3", False),
    ],
)
def test_the_confirmation_is_asked_for_early_whatever_the_order(
    order: str, weeks: str, asks: bool
) -> None:
    (question,) = (one for one in questions_of(shipped()) if one.id == "one_leg_confirmed")
    answers = {"weight_bearing": order, "recent_surgery_weeks": weeks}
    assert question.asked(answers) is asks


def test_a_week_after_a_replacement_little_is_left() -> None:
    intake = after(1, surgery="replacement")
    assert loads_allowed(shipped(), intake) == {"unloaded", "both-legs"}
    assert not unloaded_only(intake)
    assert limits_of(shipped(), intake) == ("no-kneeling",)
    assert "chair-stands-30s" not in not_offered(intake)


@pytest.mark.parametrize(
    ("kind", "weeks", "confirmed", "limits"),
    [
        ("extensor", 11, True, {"no-active-extension", "bend-limited", "no-kneeling"}),
        ("extensor", 12, False, set()),
        ("meniscus", 5, False, {"bend-limited", "no-kneeling"}),
        ("meniscus", 5, True, set()),
        ("meniscus", 6, False, set()),
        ("replacement", 11, True, {"no-kneeling"}),
        ("ligament", 11, True, {"no-kneeling"}),
        ("bone", 11, True, {"no-kneeling"}),
        ("other", 3, False, set()),
        (None, 3, False, set()),
    ],
)
def test_each_kind_of_surgery_has_its_own_limits(
    kind: str | None, weeks: int, confirmed: bool, limits: set[str]
) -> None:
    intake = after(weeks, surgery=kind, one_leg_confirmed=confirmed)
    assert set(limits_of(shipped(), intake)) == limits


@pytest.mark.parametrize(
    ("kind", "waits", "allowed"),
    [
        ("extensor", {"quad-set", "straight-leg-raise-hold"}, set()),
        # The thigh is trained from the first days after repair of a meniscus (common practice).
        ("meniscus", set(), {"quad-set", "straight-leg-raise-hold"}),
    ],
)
def test_a_repair_withholds_loading_and_says_whose_order_it_waits_for(
    kind: str, waits: set[str], allowed: set[str]
) -> None:
    intake = after(4, surgery=kind)
    for test in waits | {"five-chair-stands", "step-down"}:
        assert why_not_allowed(shipped(), intake, shipped().test(test))
    for test in allowed | {"knee-extension"}:
        assert why_not_allowed(shipped(), intake, shipped().test(test)) == ""
    reason = why_not_allowed(shipped(), intake, shipped().test("five-chair-stands"))
    assert "until the surgeon orders it" in reason
    found = assess(shipped(), session(intake=intake.model_dump()))
    exercises = {one.id: one for one in shipped().exercises}
    limits = set(limits_of(shipped(), intake))
    for start in found.plan.start:
        assert limits.isdisjoint(exercises[start.exercise].not_with)


@pytest.mark.parametrize(("weeks", "allowed"), [(5, False), (6, True)])
def test_six_weeks_after_a_replacement_nothing_is_done_on_one_leg_whatever_it_may_bear(
    weeks: int, allowed: bool
) -> None:
    intake = after(weeks, surgery="replacement", one_leg_confirmed=True)
    assert ("one-leg" in loads_allowed(shipped(), intake)) is allowed
    early = {"squat", "one-leg-rise", "single-leg-stance"}
    assert early.isdisjoint(not_offered(intake)) is allowed


@pytest.mark.parametrize(("weeks", "walks"), [(5, "walk-own-pace"), (6, "walk-daily")])
def test_in_the_first_weeks_after_surgery_nobody_is_sent_on_a_brisk_walk(
    weeks: int, walks: str
) -> None:
    goals = ["walking", "chair"]
    intake = {"recent_surgery_weeks": weeks, "surgery": "meniscus", "one_leg_confirmed": True}
    found = assess(shipped(), session(SHORT, client={"age": 40}, intake={**intake, "goals": goals}))
    started = [one.exercise for one in found.plan.start]
    assert [one for one in started if "walk" in one] == [walks]
    assert ("rises-with-weight" in started) is (walks == "walk-daily")


# ------------------------------------------------------------------ precautions


def trial(test: str, value: float, **more: Any) -> dict[str, Any]:
    return {"test": test, "value": value, **more}


def raised(*trials: dict[str, Any], age: int = 70, **more: Any) -> list[str]:
    found = assess(shipped(), session(*trials, client={"age": age}, **more))
    return [one.id for one in found.precautions]


@pytest.mark.parametrize(
    ("trials", "age", "risk"),
    [
        ([trial("tandem-stance", 9.9)], 40, True),
        ([trial("tandem-stance", 10.0)], 88, False),
        # 12 s or more: the public-health sheet (CDC 2017, timed up and go).
        ([trial("timed-up-and-go", 12.0)], 65, True),
        ([trial("timed-up-and-go", 12.0)], 64, False),
        ([trial("timed-up-and-go", 11.9)], 88, False),
        # Under 5 s: injurious falls (Vellas 1997, J Am Geriatr Soc 45:735).
        ([trial("single-leg-stance", 4.9, side="left")], 65, True),
        ([trial("single-leg-stance", 4.9, side="left")], 64, False),
        (
            [
                trial("single-leg-stance", 9.0, side=side, signs=["unsteady"])
                for side in ("left", "right")
            ],
            60,
            True,
        ),
        ([trial("single-leg-stance", 9.0, side="left", signs=["unsteady"])], 60, False),
    ],
)
def test_fall_risk_arises_from_what_was_measured(
    trials: list[dict[str, Any]], age: int, risk: bool
) -> None:
    assert ("fall-risk" in raised(*trials, age=age)) is risk


@pytest.mark.parametrize(
    ("intake", "expected"),
    [
        ({"history": {"falls": ["two-or-more"]}}, ["fall-risk"]),
        ({"history": {"falls": ["one"]}}, []),
        (
            {"cleared": [{"caution": "repeated-falls", "by": "physician", "when": "May"}]},
            ["fall-risk"],
        ),
        ({"history": {"swelling": ["within-6-h"]}}, ["swelling"]),
        ({"recent_surgery_weeks": 11}, ["early-surgery"]),
        ({"recent_surgery_weeks": 12}, []),
        ({"pain_now": 6}, ["pain-above-five"]),
        ({"pain_now": 5}, []),
        ({"alone_at_home": True}, ["alone-at-home"]),
        ({"alone_at_home": False}, []),
    ],
)
def test_precautions_arise_from_the_answers(intake: dict[str, Any], expected: list[str]) -> None:
    assert raised(intake=intake) == expected


@pytest.mark.parametrize(
    ("seen", "expected"),
    [
        ({"test": "knee-extension", "side": "left", "signs": ["knee-swollen"]}, "swelling"),
        (trial("chair-stands-30s", 8, pain=6), "pain-above-five"),
        (trial("walk-4m", 4.0, aid="stick"), "walking-aid"),
        (trial("timed-up-and-go", 9.0, signs=["walking-aid"]), "walking-aid"),
    ],
)
def test_precautions_arise_from_what_was_seen(seen: dict[str, Any], expected: str) -> None:
    assert raised(seen) == [expected]
    assert raised({**seen, "void": "wrong key"}) == []


def test_the_frail_woman_of_88_does_not_go_without_precautions() -> None:
    trials = [trial("tandem-stance", 4.6), trial("timed-up-and-go", 18.3), trial("walk-4m", 5.7)]
    made = session(*trials, client={"age": 88}, intake={"alone_at_home": True})
    found = assess(shipped(), made)
    assert [one.id for one in found.precautions] == ["fall-risk", "alone-at-home"]
    assert "tandem stance under 10 s; up and go 12 s or more, from 65" in found.precautions[0].words
    # Shown in the note, on the sheet and in the data.
    note = write_note(shipped(), made, found, datetime(2026, 3, 2, tzinfo=UTC))
    assert "Precautions: Fall risk" in note
    assert "You may fall more easily." in write_patient_sheet(shipped(), made, found)
    told = assessment_as_dict(shipped(), made, found)["precautions"]
    assert [one["id"] for one in told] == ["fall-risk", "alone-at-home"]


def balance(seconds: float, **intake: Any) -> tuple[Session, Assessment]:
    shaky = trial("tandem-stance", seconds, signs=["unsteady"])
    up = trial("timed-up-and-go", 18.0, signs=["unsteady"])
    made = session(shaky, up, client={"age": 80}, intake={"goals": ["walking"], **intake})
    return made, assess(shipped(), made)


def test_tandem_at_home_only_with_a_helper_when_tandem_is_short() -> None:
    made, found = balance(4.6)
    (tandem,) = [one for one in found.plan.start if one.exercise == "tandem-by-rail"]
    assert tandem.with_helper
    note = write_note(shipped(), made, found, datetime(2026, 3, 2, tzinfo=UTC))
    assert "(only with somebody near)" in " ".join(note.split())
    assert "Only do this with somebody next to you." in write_patient_sheet(shipped(), made, found)


def test_who_is_alone_does_not_get_what_needs_a_helper_but_is_shown_so() -> None:
    _, found = balance(4.6, alone_at_home=True)
    started = {one.exercise for one in found.plan.start}
    standing = {"tandem-by-rail", "weight-shift-reach", "walk-and-turn", "one-leg-by-rail"}
    assert started.isdisjoint(standing)
    assert "sitting-balance-reach" in started
    assert "tandem-by-rail" in {one.id for one in found.plan.leave_out}


FALLS: dict[str, Any] = {"history": {"falls": ["two-or-more"]}}


def test_standing_on_one_leg_and_steps_need_somebody_near_where_a_fall_is_likely() -> None:
    rule = next(one for one in shipped().precautions if one.id == "fall-risk")
    # A low split stance and a step have one foot alone under the weight, as a stance has.
    assert {one.id for one in shipped().exercises if one.load == "one-leg"} <= {*rule.needs_helper}
    assert "weight-shift-reach" in rule.needs_helper


@pytest.mark.parametrize(("intake", "walks"), [({}, "walk-daily"), (FALLS, "walk-own-pace")])
def test_nobody_who_falls_is_sent_on_a_brisk_walk(intake: dict[str, Any], walks: str) -> None:
    stands = trial("five-chair-stands", 9.0)
    found = assess(shipped(), session(stands, intake={"goals": ["walking"], **intake}))
    assert [one.exercise for one in found.plan.start if "walk" in one.exercise] == [walks]


@pytest.mark.parametrize(("pain", "started"), [(5, True), (6, False)])
def test_rises_are_not_made_harder_while_pain_is_above_five(pain: int, started: bool) -> None:
    stopped = trial("chair-stands-30s", 9, pain=pain)
    found = assess(shipped(), session(stopped, client={"age": 55}, intake={"goals": ["chair"]}))
    assert ("rises-with-weight" in {one.exercise for one in found.plan.start}) is started
    assert ("deep-loads" in {one.id for one in found.plan.leave_out}) is not started


# ------------------------------------------------------------------ a deficit that cannot wait


@pytest.mark.parametrize(
    ("weeks", "kind", "short_of", "now"),
    [
        (11, "ligament", 10.0, True),
        (11, "ligament", 9.0, False),
        (5, "ligament", 10.0, False),
        (11, "replacement", 10.0, False),
    ],
)
def test_ten_degrees_at_eleven_weeks_after_ligament_surgery_go_to_the_surgeon_within_days(
    weeks: int, kind: str, short_of: float, now: bool
) -> None:
    knees = [
        {"test": "knee-extension", "side": side, "passive_deg": deg, "active_deg": deg}
        for side, deg in (("left", short_of), ("right", 0.0))
    ]
    intake = {"side": "left", "recent_surgery_weeks": weeks, "surgery": kind}
    found = assess(shipped(), session(*knees, intake=intake))
    urgent = [one for one in found.precautions if one.urgency == "days"]
    assert bool(urgent) is now
    assert found.outcome != "refer-first"
    if now:
        assert "Ask the surgeon without waiting for the next review" in urgent[0].words


@pytest.mark.parametrize(("weeks", "now"), [(2, False), (3, True), (52, True)])
def test_a_thigh_that_does_not_contract_weeks_after_surgery_goes_to_the_surgeon(
    weeks: int, now: bool
) -> None:
    none = {"test": "quad-set", "side": "left", "signs": ["no-contraction"]}
    intake = {"side": "left", "recent_surgery_weeks": weeks, "surgery": "bone"}
    found = assess(shipped(), session(none, intake=intake))
    assert [one.id for one in found.precautions if one.urgency == "days"] == (
        ["no-contraction-after-surgery"] if now else []
    )
