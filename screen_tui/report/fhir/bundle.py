"""The bundle: every resource of one screen with its name, in a fixed order."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import datetime

from screen_tui.engine.plan import OWN
from screen_tui.engine.results import Assessment
from screen_tui.engine.safety import URGENCY
from screen_tui.protocol.knowledge import Urgency
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.report.answer import telling
from screen_tui.report.facts import as_judged
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
    """What the rules suggest, on what it rests, and what they would start.

    ``examined`` names the observations of tests, ``answered`` the answers before testing.
    """
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
    """What must be seen to first; then each driver with what speaks for it, and how much."""
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
