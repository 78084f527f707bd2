"""The bundle: the rules of FHIR that libraries miss, and what each part of a session becomes."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.every_session import SESSION_FILES, judged
from support.fhir_rules import LOINC, broken_rules
from support.hostile import as_label, possible_letters
from support.note_case import note_assessment, note_protocol, note_session, refer_first_assessment
from support.note_case import result as graded
from support.small_protocol import session
from support.thorough import examples

from screen_tui.engine import assess
from screen_tui.engine.results import PrecautionRaised
from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.report.fhir.bundle import screen_bundle, write_bundle
from screen_tui.report.fhir.datatypes import HEIGHT, MASS, PAIN
from screen_tui.report.fhir.measured import DECLINED
from screen_tui.session.model import BESIDE_THE_POINT, PlanEdit

Json = dict[str, Any]


def bundle(session: Any = None, assessment: Any = None) -> Json:
    return screen_bundle(
        note_protocol(), session or note_session(), assessment or note_assessment()
    )


def resources(made: Json, kind: str) -> list[Json]:
    return [
        entry["resource"] for entry in made["entry"] if entry["resource"]["resourceType"] == kind
    ]


def coded(made: Json, code: str, side: str | None = None) -> list[Json]:
    """The observations of one of our codes, on one leg where one is named."""
    return [
        one
        for one in resources(made, "Observation")
        if code in [coding["code"] for coding in one["code"]["coding"]]
        and (side is None or one.get("bodySite", {}).get("text") == f"{side} leg")
    ]


def shipped(name: str) -> Json:
    return screen_bundle(*judged(name))


@pytest.mark.parametrize("name", SESSION_FILES)
def test_every_session_keeps_the_rules(name: str) -> None:
    made = shipped(name)
    assert broken_rules(made) == []
    kinds = [entry["resource"]["resourceType"] for entry in made["entry"]]
    assert [kind for kind in kinds if kind != "Observation"] == [
        "Patient", "Device", "QuestionnaireResponse", "ClinicalImpression", "Provenance",
    ]  # fmt: skip


@pytest.mark.parametrize("name", SESSION_FILES)
def test_there_is_one_observation_for_each_result_with_its_number_and_side(name: str) -> None:
    _, session, assessment = judged(name)
    made = shipped(name)
    for one in assessment.results:
        side = one.side.capitalize() if one.side else None
        (found,) = coded(made, f"{one.test}/{one.measure}", side)
        assert ("bodySite" in found) == (one.side is not None)
        if one.value is None:
            assert found["dataAbsentReason"]["text"]
        else:
            assert found["valueQuantity"]["value"] == pytest.approx(
                one.value, abs=0.51 * 10**-one.decimals
            )
            assert found["valueQuantity"]["code"]
        assert found["subject"]["reference"] == made["entry"][0]["fullUrl"]
    assert session.client.label == made["entry"][0]["resource"]["identifier"][0]["value"]


@pytest.mark.parametrize("name", SESSION_FILES)
def test_the_same_session_gives_the_same_bytes(name: str) -> None:
    text = write_bundle(*judged(name))
    assert text == write_bundle(*judged(name))
    assert text.isascii()
    assert json.loads(text) == shipped(name)


def test_two_sessions_share_no_name() -> None:
    names = [
        {entry["fullUrl"] for entry in shipped(name)["entry"]}
        for name in ("runner-left-hip", "hill-walker-nothing-found")
    ]
    assert not names[0] & names[1]


def test_a_full_hold_is_at_least_and_so_is_its_trial() -> None:
    made = bundle()
    (right,) = coded(made, "stance/value", "Right")
    assert right["valueQuantity"]["comparator"] == ">="
    assert right["component"][0]["valueQuantity"] == right["valueQuantity"]
    (left,) = coded(made, "stance/value", "Left")
    assert "comparator" not in left["valueQuantity"]


def test_trials_are_components_in_their_order() -> None:
    two = graded(trials=(6.2, 5.1))
    (left,) = coded(bundle(assessment=note_assessment(results=(two,))), "stance/value", "Left")
    trials = [(one["code"]["text"], one["valueQuantity"]["value"]) for one in left["component"]]
    assert trials == [("Trial 1", 6.2), ("Trial 2", 5.1)]


def test_a_result_without_a_value_says_why_and_is_no_nought() -> None:
    none = graded(
        value=None, standing="not judged", short=False, why_not="no value was recorded",
        line=None, trials=(), symmetry_percent=None,
    )  # fmt: skip
    (left,) = coded(bundle(assessment=note_assessment(results=(none,))), "stance/value", "Left")
    assert "valueQuantity" not in left
    assert left["dataAbsentReason"]["text"] == "no value was recorded"
    assert left["dataAbsentReason"]["coding"][0]["code"] == "unknown"


@pytest.mark.parametrize(
    ("reason", "code"),
    [("not safe today", "not-performed"), ("does not want to", "asked-declined")],
)
def test_a_test_left_out_has_its_reason_in_code_and_words(reason: str, code: str) -> None:
    left_out = note_assessment(not_done=(("floor-rise", None, reason),))
    (found,) = coded(bundle(assessment=left_out), "floor-rise/value")
    absent = found["dataAbsentReason"]
    assert absent["text"] == f"Floor rise was not done: {reason}"
    assert absent["coding"][0]["code"] == code


def test_the_reason_that_is_the_persons_own_is_one_of_those_offered() -> None:
    assert DECLINED in BESIDE_THE_POINT


def test_a_one_legged_test_left_out_is_told_for_each_leg_not_done() -> None:
    skipped = [{"test": test, "reason": "too tired"} for test in ("step-down", "stance")]
    left_out = note_assessment(
        results=(), not_done=tuple((one["test"], None, one["reason"]) for one in skipped)
    )
    trials = [{"test": "step-down", "side": "left"}]
    made = bundle(note_session(trials=trials, skipped=skipped), left_out)
    told = [one for one in resources(made, "Observation") if "dataAbsentReason" in one]
    assert {(one["code"]["text"], one["bodySite"]["text"]) for one in told} == {
        ("Step-down: signs seen", "Right leg"),
        ("Single-leg stance: Time held", "Left leg"),
        ("Single-leg stance: Time held", "Right leg"),
    }


def test_a_withheld_test_is_told_with_the_gates_reason() -> None:
    protocol, session, _ = judged("frail-81-balance-or-stamina")
    full = session.intake.model_copy(update={"weight_bearing": "full"})
    may_stand = session.model_copy(update={"intake": full})
    made = screen_bundle(protocol, may_stand, assess(protocol, may_stand))
    (left,) = coded(made, "single-leg-stance/time", "Left")
    assert "not offered: Tandem stance was short" in left["dataAbsentReason"]["text"]


def test_a_test_that_was_not_for_the_persons_goals_is_not_told_as_withheld() -> None:
    protocol, session, _ = judged("frail-81-balance-or-stamina")
    full = session.intake.model_copy(update={"weight_bearing": "full", "goals": ("walking",)})
    may_stand = session.model_copy(update={"intake": full})
    made = screen_bundle(protocol, may_stand, assess(protocol, may_stand))
    assert coded(made, "single-leg-stance/time", "Left")
    assert not coded(made, "floor-rise/time")


def test_low_and_high_speak_of_the_number_and_only_where_it_is_short() -> None:
    made = shipped("frail-81-balance-or-stamina")
    (tandem,) = coded(made, "tandem-stance/time")
    assert [one["code"] for one in tandem["interpretation"][0]["coding"]] == ["L"]
    (up_and_go,) = coded(made, "timed-up-and-go/time")
    assert [one["code"] for one in up_and_go["interpretation"][0]["coding"]] == ["H"]
    (near,) = coded(made, "walk-4m/speed")
    assert near["interpretation"] == [{"text": "near the cut-off, on its worse side"}]
    assert '"N"' not in json.dumps(made)


def test_a_range_is_the_line_with_its_people_and_source() -> None:
    (stands,) = coded(shipped("frail-81-balance-or-stamina"), "chair-stands-30s/stands")
    judging = stands["referenceRange"][0]
    assert judging["low"]["value"] == 10
    assert (judging["age"]["low"]["value"], judging["age"]["high"]["value"]) == (80, 84)
    assert judging["appliesTo"] == [{"text": "male"}]
    assert "at least 10 stands" in judging["text"]
    assert "Centers for Disease Control" in judging["text"]


def test_the_codes_of_others_stand_beside_ours_where_they_fit() -> None:
    made = shipped("frail-81-balance-or-stamina")
    codes = {"89423-8": "timed-up-and-go/time", "66247-8": "chair-stands-30s/stands"}
    for loinc, ours in codes.items():
        (found,) = coded(made, ours)
        assert [one["code"] for one in found["code"]["coding"]] == [loinc, ours]
    for loinc, ours in {"8302-2": "person/height", "29463-7": "person/mass"}.items():
        assert coded(made, loinc) == coded(made, ours)
    assert coded(bundle(), "72514-3") == coded(bundle(), "stance/pain") + coded(
        bundle(), "rises/pain"
    ) + coded(bundle(), "step-down/pain")


@pytest.mark.parametrize("change", [{"seat_cm": 50.0}, {"signs": ("hands-used",)}])
def test_a_rise_done_in_another_way_is_not_the_published_one(change: Json) -> None:
    protocol, session, _ = judged("frail-81-balance-or-stamina")
    trials = tuple(
        trial.model_copy(update=change) if trial.test == "chair-stands-30s" else trial
        for trial in session.trials
    )
    other = session.model_copy(update={"trials": trials})
    made = screen_bundle(protocol, other, assess(protocol, other))
    (found,) = coded(made, "chair-stands-30s/stands")
    assert [one["code"] for one in found["code"]["coding"]] == ["chair-stands-30s/stands"]


def test_the_set_up_is_told_where_it_was_noted() -> None:
    protocol, session, _ = judged("frail-81-balance-or-stamina")
    trials = tuple(
        trial.model_copy(update={"seat_cm": 46.5, "aid": "stick"})
        if trial.test == "timed-up-and-go"
        else trial
        for trial in session.trials
    )
    noted = session.model_copy(update={"trials": trials})
    (found,) = coded(
        screen_bundle(protocol, noted, assess(protocol, noted)), "timed-up-and-go/time"
    )
    said = {one["code"]["text"]: one for one in found["component"]}
    assert said["Seat height"]["valueQuantity"]["value"] == 46.5
    assert said["Walking aid"]["valueString"] == "stick"
    assert "Footwear" not in said


def test_signs_and_the_worst_pain_have_observations_of_their_own() -> None:
    made = bundle()
    (seen,) = coded(made, "step-down/signs", "Left")
    assert [(one["code"]["text"], one["valueBoolean"]) for one in seen["component"]] == [
        ("pelvis drops", True)
    ]
    (pain,) = coded(made, "stance/pain", "Left")
    assert pain["valueQuantity"]["value"] == 3
    (nothing,) = coded(bundle(note_session(trials=[{"test": "step-down", "side": "left"}])),
                       "step-down/signs", "Left")  # fmt: skip
    assert nothing["valueString"] == "No sign was ticked."


def test_a_repeat_with_a_cue_is_an_observation_of_its_own_and_is_not_judged() -> None:
    stance = {"test": "stance", "side": "left", "value": 6.2, "signs": ["pelvis-drops"], "pain": 5}
    repeat = stance | {"cue": "pelvis-level", "value": 9.4, "pain": 2}
    made = bundle(note_session(trials=[stance, repeat, repeat | {"value": 44.0, "signs": []}]))
    assert broken_rules(made) == []
    (value,) = coded(made, "stance/value/with-cue/pelvis-level", "Left")
    assert value["code"]["text"] == "Single-leg stance: Time held, repeat with a cue: pelvis level"
    assert value["valueQuantity"]["value"] == 44.0
    cue, *trials = value["component"]
    assert cue["valueCodeableConcept"]["text"] == "Keep the pelvis level."
    assert [one["valueQuantity"]["value"] for one in trials] == [9.4, 44.0]
    assert value["interpretation"] == [{"text": "not judged: repeat with a cue"}]
    assert "referenceRange" not in value
    (signs,) = coded(made, "stance/signs/with-cue/pelvis-level", "Left")
    assert [one["code"]["text"] for one in signs["component"]] == ["Cue", "pelvis drops"]
    (pain,) = coded(made, "stance/pain/with-cue/pelvis-level", "Left")
    assert pain["valueQuantity"]["value"] == 2
    examined = resources(made, "ClinicalImpression")[0]["investigation"][0]["item"]
    names = {entry["resource"]["code"]["text"]: entry["fullUrl"] for entry in made["entry"][3:-1]}
    assert names[value["code"]["text"]] in {one["reference"] for one in examined}


def test_repeats_change_no_name_of_what_was_there_without_them() -> None:
    stance = {"test": "stance", "side": "left", "value": 6.2, "signs": ["pelvis-drops"], "pain": 5}
    without, with_cue = (
        {entry["fullUrl"]: entry["resource"].get("code") for entry in made["entry"]}
        for made in (
            bundle(note_session(trials=[stance])),
            bundle(note_session(trials=[stance, stance | {"cue": "pelvis-level"}])),
        )
    )
    assert without.items() <= with_cue.items()
    assert len(with_cue) - len(without) == 3


def test_answers_are_told_word_for_word_and_what_was_not_answered_has_none() -> None:
    answers = {"intake": {"cautions": ["clot"], "weight_bearing": "as-tolerated"}, "trials": []}
    made = bundle(note_session(**answers), refer_first_assessment())
    (response,) = resources(made, "QuestionnaireResponse")
    safety, intake = response["item"]
    assert safety["item"] == [
        {
            "linkId": "safety/clot",
            "text": "Calf pain and swelling?",
            "answer": [{"valueBoolean": True}],
        }
    ]
    told = {one["linkId"]: one for one in intake["item"]}
    assert told["intake/one-leg-confirmed"]["answer"] == [{"valueBoolean": False}]
    assert "answer" not in told["intake/goals"]
    cut_short = note_session(intake={"cautions": ["clot"], "cut_short": True}, trials=[])
    (response,) = resources(bundle(cut_short, refer_first_assessment()), "QuestionnaireResponse")
    asked = [one["linkId"] for one in response["item"][1]["item"]]
    assert "intake/weight-bearing" not in asked, "an emergency ended the questions before it"
    unfinished = note_session(trials=[], skipped=[], finished=None)
    (response,) = resources(
        bundle(unfinished, note_assessment(results=())), "QuestionnaireResponse"
    )
    assert response["status"] == "in-progress"
    assert "answer" not in response["item"][0]["item"][0]


def test_the_suggestion_is_an_impression_in_progress_never_a_condition() -> None:
    made = bundle()
    (impression,) = resources(made, "ClinicalImpression")
    assert impression["status"] == "in-progress"
    assert impression["summary"].startswith("Likely driver: hip control (left).")
    (finding,) = impression["finding"]
    assert finding["itemCodeableConcept"]["text"] == (
        "Suggested driver, likely: hip control, left leg"
    )
    assert "Single-leg stance, left: pelvis drops (moderate)" in finding["basis"]
    assert not resources(made, "Condition") + resources(made, "RiskAssessment")
    (refer,) = resources(bundle(assessment=refer_first_assessment()), "ClinicalImpression")
    assert refer["finding"][0]["itemCodeableConcept"]["text"] == (
        "Refer first: Possible clot - today: a doctor sees this person"
    )


def test_how_soon_somebody_sees_the_patient_is_a_code_of_the_finding() -> None:
    (caution,) = refer_first_assessment().cautions
    again = replace(caution, ask="Ask it again.")
    soon = PrecautionRaised("surgeon", "Ask the surgeon.", "judgement", "days")
    brace = PrecautionRaised("brace", "Brace on.", "judgement")
    for raised, expected in ((caution, ["safety/clot", "urgency/today"]), (again, ["safety/clot"])):
        found = note_assessment(cautions=(raised,), precautions=(soon, brace))
        (impression,) = resources(bundle(assessment=found), "ClinicalImpression")
        first, second = (one["itemCodeableConcept"] for one in impression["finding"][:2])
        assert [one["code"] for one in first["coding"]] == expected
        assert second["text"] == "Precaution: Within days: Ask the surgeon."
        assert [one["code"] for one in second["coding"]] == ["precaution/surgeon", "urgency/days"]
        assert {"text": "Precaution: Brace on."} in impression["note"]


def test_the_edited_plan_and_the_next_visit_are_in_the_impression() -> None:
    protocol, session, plain = judged("runner-left-hip")
    dropped, second = plain.plan.start[:2]
    edit = PlanEdit(drop=(dropped.exercise,), own=("Cycle 10 min.",), next_visit="25 March, 10:00")
    made = session.model_copy(update={"plan": edit})
    (impression,) = resources(
        screen_bundle(protocol, made, assess(protocol, made)), "ClinicalImpression"
    )
    notes = [one["text"] for one in impression["note"]]
    assert notes[-1] == "Next visit: 25 March, 10:00"
    planned = "\n".join(notes)
    assert second.name in planned
    assert planned.index(second.name) < planned.index("Cycle 10 min.")
    assert dropped.name not in planned


def test_by_whom_a_safety_question_was_cleared_is_beside_its_yes() -> None:
    cleared = {"caution": "clot", "by": "the surgeon", "when": "3 May", "words": "scan clear"}
    made = bundle(note_session(intake={"cleared": [cleared]}))
    assert broken_rules(made) == []
    yes, how = resources(made, "QuestionnaireResponse")[0]["item"][0]["item"]
    assert yes["answer"] == [{"valueBoolean": True}]
    assert how["linkId"] == "safety/clot/cleared"
    assert how["answer"] == [{"valueString": "known and cleared by the surgeon, 3 May; scan clear"}]


def test_what_made_it_and_of_what_is_said() -> None:
    made = bundle()
    (provenance,) = resources(made, "Provenance")
    targets = {one["reference"] for one in provenance["target"]}
    urls = [entry["fullUrl"] for entry in made["entry"]]
    assert targets == set(urls[:-1])
    (device,) = resources(made, "Device")
    versions = {one["type"]["text"]: one["value"] for one in device["version"]}
    assert versions["protocol small"] == note_protocol().digest


def test_a_screen_that_was_not_finished_is_preliminary() -> None:
    statuses = {
        finished: {one["status"] for one in resources(bundle(session), "Observation")}
        for finished, session in ((True, note_session()), (False, note_session(finished=None)))
    }
    assert statuses == {True: {"final"}, False: {"preliminary"}}


def test_an_offset_with_seconds_becomes_one_fhir_knows() -> None:
    odd = timezone(timedelta(hours=1, seconds=30))
    session = note_session(started=datetime(2026, 3, 2, 9, 15, tzinfo=odd), finished=None)
    assert broken_rules(bundle(session)) == []


def test_invented_people_are_marked_as_test_data() -> None:
    assert bundle()["meta"]["security"][0]["code"] == "HTEST"
    assert "meta" not in bundle(note_session(synthetic=False))


def test_the_codes_of_the_person_are_such_as_were_read() -> None:
    assert {one.loinc for one in (PAIN, MASS, HEIGHT)} <= LOINC
    assert all(one.loinc_seen_at for one in (PAIN, MASS, HEIGHT))


texts = st.text(possible_letters(), min_size=1, max_size=60)


@settings(max_examples=examples(60))
@given(texts.map(as_label), texts, texts, st.floats(0, 45), st.integers(5, 110))
def test_whatever_was_typed_the_rules_are_kept(
    label: str, said: str, reason: str, value: float, age: int
) -> None:
    session = note_session(
        client={"label": label, "age": age},
        intake={"note": said},
        stopped=reason,
        trials=[{"test": "stance", "side": "left", "value": value, "ended": said, "note": said}],
        skipped=[{"test": "rises", "reason": reason}],
    )
    made = screen_bundle(note_protocol(), session, assess(note_protocol(), session))
    assert broken_rules(made) == []
    assert json.loads(json.dumps(made)) == made


def broken(made: Json, change: Callable[[Json], object]) -> list[str]:
    copied = json.loads(json.dumps(made))
    change(copied)
    return broken_rules(copied)


def _first(made: Json, kind: str) -> Json:
    return resources(made, kind)[0]


def _valued(made: Json) -> Json:
    return next(one for one in resources(made, "Observation") if "referenceRange" in one)


BREAKS: dict[str, tuple[Callable[[Json], object], str]] = {
    "status": (lambda made: _valued(made).update(status="done"), "status done"),
    "value and absence": (
        lambda made: _valued(made).update(dataAbsentReason={"text": "x"}),
        "[obs-6]",
    ),
    "range": (lambda made: _valued(made).update(referenceRange=[{"age": {}}]), "[obs-3]"),
    "unit code alone": (lambda made: _valued(made)["valueQuantity"].pop("system"), "[qty-3]"),
    "unit": (lambda made: _valued(made)["valueQuantity"].update(code="sec"), "UCUM"),
    "reference": (
        lambda made: _valued(made)["subject"].update(reference="urn:uuid:x"),
        "leads nowhere",
    ),
    "empty array": (lambda made: _valued(made).update(note=[]), "empty"),
    "null": (lambda made: _valued(made).update(note=None), "empty"),
    "name twice": (
        lambda made: made["entry"][1].update(fullUrl=made["entry"][0]["fullUrl"]),
        "fullUrl twice",
    ),
    "no offset": (
        lambda made: _valued(made).update(effectiveDateTime="2026-03-02T09:15:00"),
        "offset",
    ),
    "licensed codes": (
        lambda made: _valued(made)["code"]["coding"][0].update(system="http://snomed.info/sct"),
        "may not be used",
    ),
    "unread code": (
        lambda made: _valued(made)["code"]["coding"][0].update(
            system="http://loinc.org", code="1-8"
        ),
        "nobody has read",
    ),
    "a name": (lambda made: _first(made, "Patient").update(name=[{"text": "x"}]), "a label"),
    "a diagnosis": (
        lambda made: _first(made, "ClinicalImpression").update(summary="Weak."),
        "not a diagnosis",
    ),
    "two values": (lambda made: _valued(made).update(valueString="x"), "more than one value"),
    "no words": (lambda made: _valued(made)["code"].pop("text"), "without its words"),
}


@pytest.mark.parametrize("name", BREAKS)
def test_the_rules_catch_what_they_are_for(name: str) -> None:
    change, told = BREAKS[name]
    made = shipped("frail-81-balance-or-stamina")
    assert any(told in one for one in broken(made, change))


def test_history_pain_surgery_and_how_often_a_sign_was_seen_are_exported() -> None:
    shipped = load_protocol([protocols_folder()])
    seen = {
        "test": "step-down",
        "side": "left",
        "signs": ["pelvis-drops", "trunk-leans"],
        "sign_counts": {"pelvis-drops": 4},
    }
    intake = {
        "side": "left",
        "recent_surgery_weeks": 20,
        "surgery": "meniscus",
        "pain_now": 2,
        "pain_worst": 6,
        "alone_at_home": True,
        "history": {"pain-site": ["front"], "worse-with": ["stairs-down", "rising"]},
    }
    made = session(seen, intake=intake)
    exported = screen_bundle(shipped, made, assess(shipped, made))
    (response,) = resources(exported, "QuestionnaireResponse")
    items = [item for part in response["item"] for item in part["item"]]
    answers = {item["linkId"]: item.get("answer") for item in items}
    assert answers["intake/pain-now"] == [{"valueInteger": 2}]
    assert answers["intake/pain-worst"] == [{"valueInteger": 6}]
    assert answers["intake/alone-at-home"] == [{"valueBoolean": True}]
    chosen = {
        link: [one["valueCoding"]["code"] for one in answers[link]]
        for link in ("intake/surgery", "history/pain-site", "history/worse-with")
    }
    assert chosen == {
        "intake/surgery": ["intake/surgery/meniscus"],
        "history/pain-site": ["history/pain-site/front"],
        "history/worse-with": ["history/worse-with/stairs-down", "history/worse-with/rising"],
    }
    (signs,) = coded(exported, "step-down/signs", "Left")
    counted = [one["valueInteger"] for one in signs["component"] if "valueInteger" in one]
    assert counted == [4]
