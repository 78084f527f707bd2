"""P: what to start, what to leave out, precautions and a prompt to test again."""

from __future__ import annotations

from screen_tui.engine.results import Assessment, Start
from screen_tui.protocol.model import Protocol
from screen_tui.report.ascii import Sheet
from screen_tui.report.citations import Citations
from screen_tui.report.plan_facts import (
    NO_PRECAUTIONS,
    NOTHING_LEFT_OUT,
    RETEST_DATE,
    STOP_AT_ONCE,
    SUGGESTIONS,
    nothing_to_start,
    precautions,
    retest_facts,
    stop_rule_facts,
)
from screen_tui.report.words import driver_name, joined, with_side
from screen_tui.session.model import Session


def write_plan(
    sheet: Sheet, protocol: Protocol, session: Session, assessment: Assessment, cited: Citations
) -> None:
    """Write P as suggestions for the clinician to take, change or drop."""
    sheet.heading("P: Plan")
    sheet.text(SUGGESTIONS)
    sheet.blank()
    if not assessment.plan.start:
        sheet.item("Start", nothing_to_start(assessment.outcome))
    for place, start in enumerate(assessment.plan.start, start=1):
        _write_start(sheet, protocol, place, start, cited)
    sheet.blank()
    if not assessment.plan.leave_out:
        sheet.item("Leave out for now", NOTHING_LEFT_OUT)
    for left in assessment.plan.leave_out:
        value = f"{left.name} - {left.reason} {cited.cite(left.source)}"
        sheet.item("Leave out for now", value)
    _write_precautions(sheet, session, assessment)
    _write_retest(sheet, protocol, session, assessment, cited)


def _write_start(
    sheet: Sheet, protocol: Protocol, place: int, start: Start, cited: Citations
) -> None:
    driver = with_side(driver_name(protocol, start.driver), start.side)
    sheet.item(f"Start {place}", f"{start.name} (for: {driver}) {cited.cite(start.source)}")
    sheet.item("Position", start.position, indent=2)
    sheet.item("Dose", start.dose, indent=2)
    sheet.item("Cue", start.cue, indent=2)
    sheet.item("Should feel", start.feel, indent=2)
    sheet.item("Stop when", start.stop, indent=2)
    sheet.item("Progress when", start.progress_when, indent=2)
    sheet.item("Progress to", start.progress_to, indent=2)


def _write_precautions(sheet: Sheet, session: Session, assessment: Assessment) -> None:
    lines = precautions(session, assessment)
    sheet.blank()
    if not lines:
        sheet.item("Precautions", NO_PRECAUTIONS)
    for line in lines:
        sheet.item("Precaution", line)


def _write_retest(
    sheet: Sheet, protocol: Protocol, session: Session, assessment: Assessment, cited: Citations
) -> None:
    sheet.blank()
    sheet.item(RETEST_DATE, "______________")
    for fact in retest_facts(protocol, session, assessment):
        if fact.label:
            sheet.item(fact.label, cited.told(fact), indent=2)
        else:
            sheet.text(cited.told(fact), indent=2)
    stops = [cited.told(fact) for fact in stop_rule_facts(protocol, session, assessment)]
    if stops:
        sheet.item(STOP_AT_ONCE, joined(stops), indent=2)
