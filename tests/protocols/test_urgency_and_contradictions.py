"""How soon a safety answer must be seen to, and which answers the findings contradict."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from shipped_protocol import shipped
from support.small_protocol import session

from screen_tui.engine import assess
from screen_tui.engine.conditions import Seen
from screen_tui.engine.results import Assessment
from screen_tui.engine.safety import contradicted_answers
from screen_tui.protocol.knowledge import Urgency
from screen_tui.report.note import write_note
from screen_tui.report.patient_sheet import write_patient_sheet
from screen_tui.session.model import Intake
from screen_tui.trial.battery import plan_battery

# Clinical judgement and common practice, no source, but for the rules named beside their question.
HOW_SOON: dict[Urgency, tuple[str, ...]] = {
    "now": ("heart-or-dizziness", "neurovascular"),
    "today": (
        "fracture-rule",
        "joint-infection",
        "clot",
        "locked-knee",
        "extensor-mechanism",
        "swelling-after-injury",
        "numb-foot",
        "heart-clearance",
    ),
    "days": ("bone-pain", "several-joints", "night-pain-or-illness", "repeated-falls"),
}


def answered(*cautions: str, **more: Any) -> Assessment:
    return assess(shipped(), session(intake={"cautions": cautions}, **more))


def test_every_question_says_how_soon_and_the_soonest_are_asked_first() -> None:
    asked = [(one.urgency, one.id) for one in shipped().cautions]
    assert asked == [(urgency, one) for urgency, ids in HOW_SOON.items() for one in ids]


@pytest.mark.parametrize(
    ("caution", "headline", "heading"),
    [
        (
            "neurovascular",
            "Refer first, now: call the emergency number",
            "NOW: CALL THE EMERGENCY NUMBER",
        ),
        ("locked-knee", "Refer first, today: a doctor sees", "TODAY: SEE A DOCTOR"),
        (
            "repeated-falls",
            "Refer first, within days: a doctor sees",
            "WITHIN A FEW DAYS: SEE A DOCTOR",
        ),
    ],
)
def test_headline_note_and_sheet_name_how_soon_and_defer(
    caution: str, headline: str, heading: str
) -> None:
    made = session(intake={"cautions": [caution]})
    found = assess(shipped(), made)
    assert found.headline.startswith(headline)
    assert "according to local policy" in found.headline
    note = write_note(shipped(), made, found, datetime(2026, 3, 2, 10, tzinfo=UTC))
    assert headline.removeprefix("Refer first, ") in " ".join(note.split("\nA ")[1].split())
    sheet = write_patient_sheet(shipped(), made, found).splitlines()
    assert heading in sheet
    assert found.outcome == "refer-first"
    assert found.plan.start == ()


def test_the_most_urgent_answer_leads_whatever_the_order_of_the_answers() -> None:
    found = answered("repeated-falls", "clot", "heart-or-dizziness")
    assert [one.id for one in found.cautions] == ["heart-or-dizziness", "clot", "repeated-falls"]
    assert "now: call the emergency number" in found.headline


def test_what_was_said_of_each_question_is_in_it() -> None:
    def text(caution: str) -> str:
        one = shipped().caution(caution)
        return " ".join((one.question, *one.details, one.next_step)).lower()

    # Age 55 alone asks for an x-ray; load is taken off where steps fail or the patella is tender.
    assert "load only as comfortable; none if four steps fail or the patella is tender" in text(
        "fracture-rule"
    )
    assert "age 55 alone asks for the x-ray, not for taking the load off" in text("fracture-rule")
    assert "ottawa knee rule" in text("fracture-rule")
    assert "stays warm for months: new or increasing warmth" in text("joint-infection")
    assert "new or increasing calf pain, or new or increasing swelling below the knee" in text(
        "clot"
    )
    for one in ("locked-knee", "extensor-mechanism"):
        assert "today or the next day" in text(one)
    assert "a history of cancer alone is no yes" in text("night-pain-or-illness")
    for part in ("two falls or more", "blackout", "getting up alone", "falls assessment"):
        assert part in text("repeated-falls")
    for part in ("within 6 hours", "dislocation", "instability", "anticoagulant"):
        assert part in text("swelling-after-injury")


def test_words_for_the_patient_name_the_same_day_or_days() -> None:
    for one in shipped().cautions:
        told = (one.for_patient or "").lower()
        wanted = {"now": "emergency number", "today": "today", "days": "within a few days"}
        assert wanted[one.urgency] in told, one.id


@pytest.mark.parametrize(
    ("urgency", "words"),
    [
        ("emergency", "You fell and cannot stand on the leg, or hit your head."),
        ("emergency", "newly numb between your legs"),
        ("same-day", "Something snapped and you cannot lift the straight leg."),
    ],
)
def test_the_sheet_says_when_to_call(urgency: str, words: str) -> None:
    rules = [one.text for one in shipped().call_rules if one.urgency == urgency]
    assert any(words in one for one in rules)


# ------------------------------------------------------------------ a session that was stopped


@pytest.mark.parametrize(
    ("reason", "caution"),
    [
        ("chest tightness", "heart-or-dizziness"),
        ("Chest pain, faintness or dizziness.", "heart-or-dizziness"),
        ("Breathlessness that does not let the patient speak.", "heart-or-dizziness"),
        ("tightness behind the breastbone", "heart-or-dizziness"),
        ("light-headed after rising", "heart-or-dizziness"),
        ("heart racing, sweaty and grey", "heart-or-dizziness"),
        ("no feeling between the legs", "neurovascular"),
        ("the left foot is cold and white", "neurovascular"),
    ],
)
def test_a_session_stopped_for_heart_breath_or_nerve_is_a_referral_now(
    reason: str, caution: str
) -> None:
    found = answered(stopped=reason)
    assert found.outcome == "refer-first"
    assert [one.id for one in found.cautions] == [caution]
    assert found.headline.startswith("Refer first, now")
    assert "Testing was stopped" in found.headline
    assert (found.drivers, found.plan.start, found.next_tests) == ((), (), ())


@pytest.mark.parametrize(
    ("reason", "caution"),
    [
        ("pins and needles in the foot, wears off", "numb-foot"),
        ("Foot went numb", "numb-foot"),
        ("calf pain and swelling, new since yesterday", "clot"),
        ("heard a snap, cannot straighten the knee", "extensor-mechanism"),
        ("the knee is locked", "locked-knee"),
    ],
)
def test_a_session_stopped_for_nerve_calf_or_snap_is_a_referral_today(
    reason: str, caution: str
) -> None:
    found = answered(stopped=reason)
    assert [(one.id, one.urgency) for one in found.cautions] == [(caution, "today")]
    assert (found.drivers, found.plan.start, found.next_tests) == ((), (), ())


@pytest.mark.parametrize(
    "reason",
    [
        "The patient wants to stop.",
        "A near-fall.",
        "Cramp in the legs.",
        "The knee gives way, locks or swells.",
        "number of stairs too small",
        "",
    ],
)
def test_a_session_stopped_for_something_else_is_none(reason: str) -> None:
    assert answered(stopped=reason).cautions == ()


# ------------------------------------------------------------------ a no that findings contradict


def knee(side: str, passive: float, active: float, *signs: str) -> dict[str, Any]:
    return {
        "test": "knee-extension",
        "side": side,
        "passive_deg": passive,
        "active_deg": active,
        "signs": signs,
    }


def asked_again(*trials: dict[str, Any], **more: Any) -> list[str]:
    made = session(*trials, **more)
    seen = Seen.of(shipped(), made)
    return [one.id for one in contradicted_answers(seen)]


@pytest.mark.parametrize(("lag", "again"), [(29, []), (30, ["extensor-mechanism"])])
def test_a_lag_of_30_degrees_on_a_knee_not_operated_on_asks_again(
    lag: int, again: list[str]
) -> None:
    assert asked_again(knee("left", 0, lag)) == again


def test_a_lag_of_48_degrees_starts_nothing_until_it_is_asked() -> None:
    found = assess(shipped(), session(knee("left", 0, 48), knee("right", 0, 0)))
    assert found.outcome == "refer-first"
    assert found.headline == (
        "Refer first. Ask the extensor question again; nothing is started until it is answered."
    )
    assert (found.plan.start, found.drivers) == ((), ())


OPERATED = {"side": "left", "recent_surgery_weeks": 3, "surgery": "replacement"}


@pytest.mark.parametrize(
    ("leg", "intake", "again"),
    [
        ("left", OPERATED, []),
        ("right", OPERATED, ["extensor-mechanism"]),
        ("right", {**OPERATED, "side": "both"}, []),
        ("left", {"cautions": ["extensor-mechanism"]}, []),
        (
            "left",
            {"cleared": [{"caution": "extensor-mechanism", "by": "surgeon", "when": "today"}]},
            [],
        ),
    ],
)
def test_the_operated_knee_and_a_question_that_was_not_answered_no_are_left_alone(
    leg: str, intake: dict[str, Any], again: list[str]
) -> None:
    assert asked_again(knee(leg, 0, 48), intake=intake) == again


NO_SET = {"test": "quad-set", "side": "left", "signs": ["no-contraction"]}
RAISE = {"test": "straight-leg-raise-hold", "side": "left"}


@pytest.mark.parametrize("none", [NO_SET, knee("left", 0, 5, "no-contraction")])
@pytest.mark.parametrize(
    ("raised", "skipped", "again"),
    [
        ({**RAISE, "value": 0.0}, None, True),
        ({**RAISE, "value": 2.0, "ended": "unable"}, None, True),
        (None, {**RAISE, "reason": "tried, unable"}, True),
        (None, {**RAISE, "reason": "not enough time"}, False),
        ({**RAISE, "value": 3.0}, None, False),
        ({**RAISE, "side": "right", "value": 0.0}, None, False),
    ],
)
def test_no_contraction_and_no_raise_on_the_same_knee_ask_again(
    none: dict[str, Any], raised: dict[str, Any] | None, skipped: dict[str, Any] | None, again: bool
) -> None:
    trials = [none, *([raised] if raised else [])]
    found = asked_again(*trials, skipped=[skipped] if skipped else [])
    assert bool(found) is again


def hip(*signs: str, side: str = "left", turns_in: float = 30) -> dict[str, Any]:
    return {"test": "hip-rotation", "side": side, "value": turns_in, "signs": signs}


# A slipping growth plate of the hip hurts at the knee (common practice); the degrees are judgement.
@pytest.mark.parametrize(
    ("age", "trials", "again"),
    [
        (13, [hip(turns_in=14)], True),
        (17, [hip(turns_in=14)], True),
        (18, [hip(turns_in=14)], False),
        (13, [hip(turns_in=15)], False),
        (13, [hip("groin-pain")], True),
        (13, [hip(turns_in=25), hip(side="right", turns_in=40)], True),
        (13, [hip(turns_in=26), hip(side="right", turns_in=40)], False),
    ],
)
def test_a_hip_that_does_not_turn_in_freely_comes_first_in_a_child(
    age: int, trials: list[dict[str, Any]], again: bool
) -> None:
    found = assess(shipped(), session(*trials, client={"age": age}))
    assert [one.urgency for one in found.cautions] == (["today"] if again else [])
    assert (found.plan.start == ()) is again


@pytest.mark.parametrize(("age", "urgency"), [(17, "today"), (18, "days")])
def test_night_pain_of_a_child_is_seen_the_same_day(age: int, urgency: Urgency) -> None:
    found = answered("night-pain-or-illness", client={"age": age})
    assert [one.urgency for one in found.cautions] == [urgency]


@pytest.mark.parametrize(("age", "offered"), [(17, True), (18, False)])
def test_the_hip_of_a_child_is_turned_in_every_visit(age: int, offered: bool) -> None:
    tests = {item.test for item in plan_battery(shipped(), Intake(), age)}
    assert ("hip-rotation" in tests) is offered


TWISTED = {"side": "left", "history": {"onset": ["twist-or-blow"]}}


# A springy block that came suddenly is seen soon (common practice); the degrees are judgement.
@pytest.mark.parametrize(
    ("intake", "leg", "short_of", "again"),
    [
        (TWISTED, "left", 10, ["locked-knee"]),
        ({**TWISTED, "history": {"onset": ["sudden"]}}, "left", 10, ["locked-knee"]),
        ({**TWISTED, "history": {"onset": ["slow"]}}, "left", 24, []),
        (TWISTED, "left", 9, []),
        # The history is that of the knee complained of.
        (TWISTED, "right", 24, []),
        ({**TWISTED, "recent_surgery_weeks": 3}, "left", 24, []),
    ],
)
def test_a_knee_that_suddenly_does_not_come_straight_asks_for_a_block_again(
    intake: dict[str, Any], leg: str, short_of: float, again: list[str]
) -> None:
    assert asked_again(knee(leg, short_of, short_of), intake=intake) == again


SWOLLEN = knee("left", 3, 3, "knee-swollen")
WAVE = {"test": "swelling", "side": "left", "value": 2}


def began(how: str, pain: int = 3, **history: str) -> dict[str, Any]:
    answers = {"onset": [how], **{name.replace("_", "-"): [one] for name, one in history.items()}}
    return {"side": "left", "pain_now": pain, "history": answers}


@pytest.mark.parametrize("fluid", [SWOLLEN, WAVE])
@pytest.mark.parametrize(
    ("intake", "again"),
    [
        # A hot, swollen, painful joint is infected until shown otherwise (common practice).
        (began("sudden", 7), ["joint-infection"]),
        (began("sudden", 6), []),
        (began("slow", 7), []),
        # Swelling within hours is mostly blood (common practice).
        (began("twist-or-blow", swelling="within-6-h"), ["swelling-after-injury"]),
        (began("twist-or-blow", giving_way="without-pain"), ["swelling-after-injury"]),
        (began("twist-or-blow", giving_way="with-pain"), []),
        ({**began("twist-or-blow", swelling="within-6-h"), "recent_surgery_weeks": 3}, []),
    ],
)
def test_a_swollen_knee_asks_for_infection_or_bleeding_again(
    fluid: dict[str, Any], intake: dict[str, Any], again: list[str]
) -> None:
    assert asked_again(fluid, intake=intake) == again
    assert asked_again(intake=intake) == []


@pytest.mark.parametrize(
    ("age", "lag", "intake", "again"),
    [
        # The tubercle is torn off in a jump (common practice); the degrees are judgement.
        (14, 10, began("sudden"), ["extensor-mechanism"]),
        (14, 9, began("sudden"), []),
        (14, 10, began("slow"), []),
        (18, 10, began("sudden"), []),
        (14, 10, {**began("sudden"), "recent_surgery_weeks": 3}, []),
    ],
)
def test_a_small_lag_that_came_suddenly_is_enough_in_the_young(
    age: int, lag: float, intake: dict[str, Any], again: list[str]
) -> None:
    assert asked_again(knee("left", 0, lag), intake=intake, client={"age": age}) == again


@pytest.mark.parametrize(("age", "there"), [(14, True), (18, False)])
def test_what_has_no_figures_below_18_is_named_and_an_angle_is_short_at_any_age(
    age: int, there: bool
) -> None:
    stands = {"test": "five-chair-stands", "value": 14.0}
    stiff = knee("left", 9, 9), knee("right", 0, 0)
    found = assess(shipped(), session(*stiff, stands, client={"age": age}))
    said = [one for one in found.remarks if "no figures to rank by" in one]
    assert [one.split(" for ")[1].split(":")[0] for one in said] == (
        ["Five chair stands"] if there else []
    )
    extension = next(one for one in found.drivers if one.driver == "knee-extension")
    assert extension.side == "left"
    assert extension.chance > 0.3
