"""The bundle: every resource of one screen with its name, in a fixed order."""

from __future__ import annotations

import json
from datetime import datetime

from screen_tui.engine.observe import observe
from screen_tui.engine.results import Assessment
from screen_tui.protocol.model import Protocol
from screen_tui.report.fhir.answers import questionnaire_response
from screen_tui.report.fhir.datatypes import (
    Data,
    concept,
    full_url,
    moment,
    pruned,
    reference,
    standard,
)
from screen_tui.report.fhir.impression import clinical_impression
from screen_tui.report.fhir.measured import Screen, measured
from screen_tui.report.fhir.person import about_person, device, patient
from screen_tui.session.model import Session

_INVENTED = standard("v3-ActReason", "HTEST", "test health data")
"""Marks invented people, so that no receiver files them with the others."""


def write_bundle(protocol: Protocol, session: Session, assessment: Assessment) -> str:
    """The bundle as JSON, ended by a line feed; the same arguments always give the same text."""
    made = screen_bundle(protocol, session, assessment)
    return json.dumps(made, indent=2, allow_nan=False) + "\n"


def screen_bundle(protocol: Protocol, session: Session, assessment: Assessment) -> Data:
    """One screen as a FHIR R4 Bundle of type collection.

    Args:
        protocol: The protocol the session was judged by.
        session: What happened.
        assessment: What it means: ``assess(protocol, session)``.

    Returns:
        Dictionaries, lists, texts, numbers and truth values only; no None, nothing empty. The
        names of the resources follow from the session, so that a second export has the same.
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
        for key, made in measured(Screen(protocol, session, assessment, observe(protocol, session)))
    }
    resources: dict[str, Data] = {
        person: patient(session),
        program: device(protocol),
        answered: questionnaire_response(protocol, session) | {"subject": reference(person)},
    }
    for key, made in about_person(session):
        resources[full_url(session, f"person/{key}")] = observed(made)
    resources |= {url: observed(made) for url, made in tests.items()}
    impression = clinical_impression(protocol, session, assessment, list(tests), answered)
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
    return {
        "resourceType": "Provenance",
        "target": [reference(url) for url in targets],
        "recorded": moment(_last_known(session)),
        "agent": [
            {
                "type": concept(
                    "Assembled by a program",
                    standard("provenance-participant-type", "assembler", "Assembler"),
                ),
                "who": reference(program, "screen-tui"),
            }
        ],
        "entity": [{"role": "source", "what": {"display": f"session {session.id}"}}],
    }


def _last_known(session: Session) -> datetime:
    """The last moment the session knows of: no clock is read, so an export can be repeated."""
    stamped = [trial.recorded for trial in session.trials if trial.recorded is not None]
    return max([session.started, *stamped, *([session.finished] if session.finished else [])])
