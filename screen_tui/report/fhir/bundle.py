"""The bundle: every resource of one screen with its name, in a fixed order."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime

from screen_tui.engine.edited_plan import OWN
from screen_tui.engine.results import Assessment, DriverResult
from screen_tui.engine.safety import URGENCY
from screen_tui.protocol.knowledge import Urgency
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.answer import telling
from screen_tui.report.facts import ObservedSession
from screen_tui.report.fhir.datatypes import (
    Data,
    concept,
    full_url,
    local,
    moment,
    pruned,
    reference,
    standard,
)
from screen_tui.report.fhir.measured import measured
from screen_tui.report.fhir.person import about_person, device, patient, questionnaire_response
from screen_tui.report.words import (
    OUTCOMES,
    caution_means,
    caution_name,
    caution_step,
    driver_name,
    precaution_words,
    spaced,
    strength_words,
    test_on,
    with_dose,
)
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

    tests = {
        full_url(session, key): made
        for key, made in measured(ObservedSession.of(protocol, session, assessment))
    }
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
    """What the rules suggest, on what it rests, and what they would start.

    ``examined`` names the observations of tests, ``answered`` the answers before testing.
    """
    outcome = OUTCOMES[assessment.outcome]
    tests = [reference(url) for url in examined]
    return {
        "resourceType": "ClinicalImpression",
        "status": "in-progress",
        "code": concept(outcome, local(f"outcome/{assessment.outcome}", outcome)),
        "description": NOT_A_DIAGNOSIS,
        "effectiveDateTime": moment(session.started),
        "investigation": [{"code": concept(protocol.battery.name), "item": tests}] if tests else [],
        "summary": f"{assessment.headline} {NOT_A_DIAGNOSIS}",
        "finding": _findings(protocol, assessment),
        "supportingInfo": [reference(answered, "Answers before testing")],
        "note": [{"text": text} for text in _notes(session, assessment)],
    }


def _findings(protocol: ScreenProtocol, assessment: Assessment) -> list[Data]:
    raised = [
        _finding(
            f"Refer first: {caution_name(caution)}",
            local(f"safety/{caution.id}", caution.name),
            f"{caution_means(caution)} {caution_step(caution)}",
            None if caution.ask else caution.urgency,
        )
        for caution in assessment.cautions
    ]
    raised += [
        _finding(
            f"Precaution: {precaution_words(one)}",
            local(f"precaution/{one.id}", spaced(one.id)),
            "",
            one.urgency,
        )
        for one in assessment.precautions
        if one.urgency
    ]
    return raised + [_leading(protocol, driver) for driver in assessment.leading]


def _finding(words: str, code: Data, basis: str, urgency: Urgency | None = None) -> Data:
    how_soon = [local(f"urgency/{urgency}", URGENCY[urgency])] if urgency else []
    return {"itemCodeableConcept": concept(words, code, *how_soon), "basis": basis}


def _leading(protocol: ScreenProtocol, driver: DriverResult) -> Data:
    """A driver, and what speaks for it, each with where it was seen and how much it counts."""
    name = driver_name(protocol, driver.driver)
    side = f", {driver.side} leg" if driver.side else ""
    told = [
        f"{test_on(protocol, one.test, one.side)}: {one.words} ({strength_words(one)})."
        for one in telling(driver.speaks_for)
    ]
    return _finding(
        f"Suggested driver, {driver.standing}: {name}{side}",
        local(f"driver/{driver.driver}", name),
        "Findings for it: " + " ".join(told),
    )


def _notes(session: Session, assessment: Assessment) -> list[str]:
    notes = list(assessment.remarks)
    notes += [
        f"Precaution: {precaution_words(raised)}"
        for raised in assessment.precautions
        if not raised.urgency
    ]
    for start in assessment.plan.start:
        by = "Added by the clinician" if start.why == OWN else SUGGESTED
        notes.append(f"{by}: {with_dose(start)}")
    if assessment.plan.leave_out:
        names = "; ".join(left.name for left in assessment.plan.leave_out)
        notes.append(f"Suggested to leave out for now: {names}.")
    if session.plan and session.plan.next_visit:
        notes.append(f"Next visit: {session.plan.next_visit}")
    return notes
