"""The suggestion: a clinical impression that nobody has accepted yet, never a condition."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.engine.results import Assessment, DriverWeight
from screen_tui.protocol.model import Protocol
from screen_tui.report.fhir.datatypes import Data, concept, local, moment, reference
from screen_tui.report.words import OUTCOMES, driver_name, finding_place
from screen_tui.session.model import Session

NOT_A_DIAGNOSIS = (
    "Rule-based suggestion of a screening program, not a diagnosis. No clinician has accepted it "
    "here; the judgement of the licensed clinician and local policy come first."
)


def clinical_impression(
    protocol: Protocol,
    session: Session,
    assessment: Assessment,
    examined: Sequence[str],
    answered: str,
) -> Data:
    """What the rules suggest, on what it rests, and what they would start.

    Args:
        protocol: The protocol the session was judged by.
        session: What happened.
        assessment: What it means: ``assess(protocol, session)``.
        examined: The names of the observations of tests.
        answered: The name of the answers before testing.
    """
    return {
        "resourceType": "ClinicalImpression",
        "status": "in-progress",
        "code": concept(
            OUTCOMES[assessment.outcome],
            local(f"outcome/{assessment.outcome}", OUTCOMES[assessment.outcome]),
        ),
        "description": NOT_A_DIAGNOSIS,
        "effectiveDateTime": moment(session.started),
        "investigation": _investigation(protocol, examined),
        "summary": f"{assessment.headline} {NOT_A_DIAGNOSIS}",
        "finding": _findings(protocol, assessment),
        "supportingInfo": [reference(answered, "Answers before testing")],
        "note": [{"text": text} for text in _notes(assessment)],
    }


def _investigation(protocol: Protocol, examined: Sequence[str]) -> list[Data]:
    if not examined:
        return []
    items = [reference(url) for url in examined]
    return [{"code": concept(protocol.battery.name), "item": items}]


def _findings(protocol: Protocol, assessment: Assessment) -> list[Data]:
    raised = [
        {
            "itemCodeableConcept": concept(
                f"Safety question answered yes: {caution.name}",
                local(f"safety/{caution.id}", caution.name),
            ),
            "basis": f"{caution.means} {caution.next_step}",
        }
        for caution in assessment.cautions
    ]
    return raised + [
        {
            "itemCodeableConcept": concept(
                _driver_words(protocol, driver),
                local(f"driver/{driver.driver}", driver_name(protocol, driver.driver)),
            ),
            "basis": _basis(protocol, driver),
        }
        for driver in assessment.leading
    ]


def _driver_words(protocol: Protocol, driver: DriverWeight) -> str:
    name = driver_name(protocol, driver.driver)
    side = f", {driver.side} leg" if driver.side else ""
    return f"Suggested driver, {driver.standing}: {name}{side}"


def _basis(protocol: Protocol, driver: DriverWeight) -> str:
    """What speaks for it, each with where it was seen and how much it counts."""
    told = [
        f"{finding_place(protocol, one.finding)}: {one.finding.reason} ({one.finding.strength})"
        for one in driver.speaks_for
        if one.counted
    ]
    return "Rules that speak for it: " + " ".join(told)


def _notes(assessment: Assessment) -> list[str]:
    notes = list(assessment.remarks)
    if assessment.plan.start:
        names = "; ".join(start.name for start in assessment.plan.start)
        notes.append(f"Suggested to start, for the clinician to take, change or drop: {names}.")
    if assessment.plan.leave_out:
        names = "; ".join(left.name for left in assessment.plan.leave_out)
        notes.append(f"Suggested to leave out for now: {names}.")
    return notes
