"""The bundle: every resource of one screen with its name, in a fixed order."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import datetime

from screen_tui import __version__
from screen_tui.engine.plan import OWN
from screen_tui.engine.results import Assessment
from screen_tui.engine.safety import LIMITS, URGENCY
from screen_tui.protocol.knowledge import Urgency
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.report.answer import telling
from screen_tui.report.facts import as_judged
from screen_tui.report.fhir.datatypes import (
    HEIGHT,
    MASS,
    Data,
    codings,
    concept,
    full_url,
    local,
    moment,
    pruned,
    quantity,
    reference,
    standard,
)
from screen_tui.report.fhir.measured import measured
from screen_tui.session.model import Session

_INVENTED = standard("v3-ActReason", "HTEST", "test health data")
"""Marks invented people, so that no receiver files them with the others."""


def write_bundle(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> str:
    """The bundle as JSON, ended by a line feed; the same arguments always give the same text."""
    made = screen_bundle(protocol, session, assessment)
    return json.dumps(made, indent=2, allow_nan=False) + "\n"


def screen_bundle(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> Data:
    """One session as a FHIR R4 Bundle of type collection, without None and without what is empty.

    The names of the resources follow from the session, so that a second export has the same.
    """
    person, program = full_url(session, "patient"), full_url(session, "device")
    answered = full_url(session, "answers")
    status = "final" if session.finished or session.stopped else "preliminary"

    def observed(observation: Data) -> Data:
        return {
            "resourceType": "Observation",
            "status": status,
            "effectiveDateTime": moment(session.started),
            **{key: value for key, value in observation.items() if value is not None},
            "subject": reference(person),
            "device": reference(program),
        }

    seen = as_judged(protocol, session, assessment)
    tests = {full_url(session, key): made for key, made in measured(seen, assessment)}
    resources: dict[str, Data] = {
        person: patient(session),
        program: device(protocol),
        answered: questionnaire_response(protocol, session) | {"subject": reference(person)},
    }
    for key, made in about_person(session):
        resources[full_url(session, f"person/{key}")] = observed(made)
    resources |= {url: observed(made) for url, made in tests.items()}
    impression = _clinical_impression(protocol, session, assessment, list(tests), answered)
    resources[full_url(session, "impression")] = impression | {"subject": reference(person)}
    resources[full_url(session, "provenance")] = _provenance(session, list(resources), program)
    made = {
        "resourceType": "Bundle",
        "meta": {"security": [_INVENTED] if session.synthetic else []},
        "type": "collection",
        "timestamp": moment(_last_known(session)),
        "entry": [{"fullUrl": url, "resource": made} for url, made in resources.items()],
    }
    cleaned: Data = pruned(made)
    return cleaned


def _provenance(session: Session, targets: list[str], program: str) -> Data:
    assembler = standard("provenance-participant-type", "assembler", "Assembler")
    assembled = concept("Assembled by a program", assembler)
    return {
        "resourceType": "Provenance",
        "target": [reference(url) for url in targets],
        "recorded": moment(_last_known(session)),
        "agent": [{"type": assembled, "who": reference(program, "screen-tui")}],
        "entity": [{"role": "source", "what": {"display": f"session {session.id}"}}],
    }


def _last_known(session: Session) -> datetime:
    """The last moment the session knows of: no clock is read, so an export can be repeated."""
    stamped = [trial.recorded for trial in session.trials if trial.recorded is not None]
    return max([session.started, *stamped, *([session.finished] if session.finished else [])])


SUGGESTED = "Suggested to start, for the clinician to take, change or drop"
NOT_A_DIAGNOSIS = (
    "Rule-based suggestion of a screening program, not a diagnosis. No clinician has accepted it "
    "here; the judgement of the licensed clinician and local policy come first."
)


def _clinical_impression(
    protocol: ScreenProtocol,
    session: Session,
    assessment: Assessment,
    examined: Sequence[str],
    answered: str,
) -> Data:
    """``examined`` names the observations of tests, ``answered`` the answers before testing."""
    outcome = words.OUTCOMES[assessment.outcome]
    tests = [reference(url) for url in examined]
    return {
        "resourceType": "ClinicalImpression",
        "status": "in-progress",
        "code": concept(outcome, local(f"outcome/{assessment.outcome}", outcome)),
        "description": NOT_A_DIAGNOSIS,
        "effectiveDateTime": moment(session.started),
        "investigation": [{"code": concept(protocol.battery.name), "item": tests}] if tests else [],
        "summary": f"{assessment.headline} {NOT_A_DIAGNOSIS}",
        "finding": list(_findings(protocol, assessment)),
        "supportingInfo": [reference(answered, "Answers before testing")],
        "note": [{"text": text} for text in _notes(session, assessment)],
    }


def _findings(protocol: ScreenProtocol, assessment: Assessment) -> Iterator[Data]:
    for caution in assessment.cautions:
        yield _finding(
            f"Refer first: {words.caution_name(caution)}",
            local(f"safety/{caution.id}", caution.name),
            f"{words.caution_means(caution)} {words.caution_step(caution)}",
            None if caution.ask else caution.urgency,
        )
    for one in assessment.precautions:
        if one.urgency:
            code = local(f"precaution/{one.id}", words.spaced(one.id))
            name = f"Precaution: {words.precaution_words(one)}"
            yield _finding(name, code, "", one.urgency)
    for driver in assessment.leading:
        name = words.driver_name(protocol, driver.driver)
        side = f", {driver.side} leg" if driver.side else ""
        findings = [
            f"{words.test_on(protocol, one.test, one.side)}: "
            f"{one.words} ({words.strength_words(one)})."
            for one in telling(driver.speaks_for)
        ]
        yield _finding(
            f"Suggested driver, {driver.standing}: {name}{side}",
            local(f"driver/{driver.driver}", name),
            "Findings for it: " + " ".join(findings),
        )


def _finding(name: str, code: Data, basis: str, urgency: Urgency | None = None) -> Data:
    how_soon = [local(f"urgency/{urgency}", URGENCY[urgency])] if urgency else []
    return {"itemCodeableConcept": concept(name, code, *how_soon), "basis": basis}


def _notes(session: Session, assessment: Assessment) -> list[str]:
    notes = list(assessment.remarks)
    notes += [
        f"Precaution: {words.precaution_words(raised)}"
        for raised in assessment.precautions
        if not raised.urgency
    ]
    for start in assessment.plan.start:
        by = "Added by the clinician" if start.why == OWN else SUGGESTED
        notes.append(f"{by}: {words.with_dose(start)}")
    if assessment.plan.leave_out:
        names = "; ".join(left.name for left in assessment.plan.leave_out)
        notes.append(f"Suggested to leave out for now: {names}.")
    if session.plan and session.plan.next_visit:
        notes.append(f"Next visit: {session.plan.next_visit}")
    return notes


# ------------------------------------------------------------------ the person


def patient(session: Session) -> Data:
    """The person: no name, no date of birth, no sex; a label that means something here only."""
    return {
        "resourceType": "Patient",
        "identifier": [{"type": {"text": "patient code"}, "value": session.client.label.strip()}],
    }


def device(protocol: ScreenProtocol) -> Data:
    """The program with its version, and the protocol with its digest, to derive it all again."""
    return {
        "resourceType": "Device",
        "deviceName": [{"name": "screen-tui", "type": "user-friendly-name"}],
        "type": concept("software that times tests and ranks findings by rules"),
        "version": [
            {"type": {"text": "program"}, "value": __version__},
            {"type": {"text": f"protocol {protocol.battery.id}"}, "value": protocol.digest},
        ],
    }


def about_person(session: Session) -> Iterator[tuple[str, Data]]:
    """What of the person a result is read by, as observations, each with its key."""
    client = session.client
    age = concept("Age on the day", local("person/age", "Age"))
    yield "age", {"code": age, "valueQuantity": quantity(client.age, "years", "a")}
    table_sex = local("person/table-sex", "Sex used for the reference tables")
    code = concept("Sex, as used for the reference tables", table_sex)
    used = concept(client.sex, local(f"person/table-sex/{client.sex}", client.sex))
    yield "sex", {"code": code, "valueCodeableConcept": used}
    vital = concept("Vital signs", standard("observation-category", "vital-signs", "Vital Signs"))
    for key, coded, name, value, unit in (
        ("height", HEIGHT, "Body height", client.height_cm, "cm"),
        ("mass", MASS, "Body weight", client.mass_kg, "kg"),
    ):
        if value is not None:
            code = concept(name, *codings(coded, f"person/{key}", name))
            number = quantity(value, unit, coded.ucum)
            yield key, {"category": [vital], "code": code, "valueQuantity": number}


def questionnaire_response(protocol: ScreenProtocol, session: Session) -> Data:
    """The safety questions word for word, then the intake; what was not answered has no answer."""
    safety = []
    for one in protocol.cautions:
        answer = words.safety_answer(session, one.id)
        heard = None if answer == "not recorded" else answer != "denied"
        safety.append(_item(f"safety/{one.id}", one.question, heard))
    for cleared in session.intake.cleared:
        by_whom = words.safety_words(session, cleared.caution)
        safety.append(_item(f"safety/{cleared.caution}/cleared", "Known and cleared", by_whom))
    history = []
    for question in protocol.history:
        given = session.intake.history.get(question.id)
        if given is not None:
            chosen = {one.id: one.label for one in question.answers if one.id in given}
            history.append(_item(f"history/{question.id}", question.label, chosen))
    return {
        "resourceType": "QuestionnaireResponse",
        "status": "completed" if words.went_on(session) else "in-progress",
        "authored": moment(session.started),
        "item": [
            {"linkId": "safety", "text": "Safety questions", "item": safety},
            {"linkId": "intake", "text": "Before testing", "item": _intake(session)},
            *([{"linkId": "history", "text": "History", "item": history}] if history else []),
        ],
    }


def _intake(session: Session) -> list[Data]:
    intake = session.intake
    load, surgery = intake.load_asked, intake.surgery
    borne: _Given | None = {load: words.WEIGHT_BEARING[load]} if load else None
    confirmed = intake.one_leg_confirmed if load == "as-tolerated" else None
    given: tuple[tuple[str, str, _Given | None], ...] = (
        ("complaints", "Complaint", {one: words.spaced(one) for one in intake.complaints}),
        ("side", "Side of the complaint", {intake.side: intake.side}),
        ("goals", "Goals", {one: words.spaced(one) for one in intake.goals}),
        ("weight-bearing", "Weight-bearing allowed", borne),
        ("precautions", "Other limits", {one: LIMITS[one] for one in intake.precautions}),
        ("one-leg-confirmed", "Full load on one leg confirmed", confirmed),
        ("surgery-weeks", "Weeks since surgery", intake.recent_surgery_weeks),
        ("surgery", "Kind of surgery", {surgery: words.spaced(surgery)} if surgery else None),
        ("pain-now", "Pain now, of 10", intake.pain_now),
        ("pain-worst", "Pain at its worst in the last week, of 10", intake.pain_worst),
        ("alone-at-home", "Alone at home", intake.alone_at_home),
        ("note", "In addition", intake.note or None),
    )
    return [
        _item(f"intake/{name}", text, answer) for name, text, answer in given if answer is not None
    ]


_Given = dict[str, str] | bool | int | str
"""The choices with their words, or the answer itself."""


def _item(link: str, text: str, given: _Given | None) -> Data:
    answers: list[Data] = []
    match given:
        case dict():
            answers = [{"valueCoding": local(f"{link}/{one}", given[one])} for one in given]
        case bool():
            answers = [{"valueBoolean": given}]
        case int():
            answers = [{"valueInteger": given}]
        case str():
            answers = [{"valueString": given}]
    return {"linkId": link, "text": text, "answer": answers}
