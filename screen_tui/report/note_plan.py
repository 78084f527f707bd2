"""P: what to start, what to leave out, precautions and a prompt to test again."""

from __future__ import annotations

from screen_tui.engine.offer import LIMITS
from screen_tui.engine.results import Assessment, Outcome, Start
from screen_tui.engine.safety import PAIN_LIMIT
from screen_tui.protocol.whole import Protocol
from screen_tui.report.ascii import Sheet
from screen_tui.report.citations import Citations
from screen_tui.report.words import (
    WEIGHT_BEARING,
    driver_name,
    joined,
    test_name,
    weeks_ago,
    with_side,
)
from screen_tui.session.model import Session

_NO_START: dict[Outcome, str] = {
    "refer-first": "nothing; refer first",
    "nothing-found": "nothing; these tests found nothing to work on",
    "undetermined": "nothing yet; the findings do not settle on a driver",
    "unloaded-only": "nothing yet; only unloaded tests could be done",
}


def write_plan(
    sheet: Sheet, protocol: Protocol, session: Session, assessment: Assessment, cited: Citations
) -> None:
    """Write P as suggestions for the clinician to take, change or drop."""
    sheet.heading("P: Plan")
    sheet.text("Rule-based suggestions; the clinician takes, changes or drops each.")
    sheet.blank()
    if not assessment.plan.start:
        fallback = "nothing is suggested by these findings"
        sheet.item("Start", _NO_START.get(assessment.outcome, fallback))
    for place, start in enumerate(assessment.plan.start, start=1):
        _write_start(sheet, protocol, place, start, cited)
    sheet.blank()
    if not assessment.plan.leave_out:
        sheet.item("Leave out for now", "nothing is named by these findings")
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
    intake = session.intake
    lines = [f"{caution.name}: {caution.next_step}" for caution in assessment.cautions]
    if intake.weight_bearing != "full":
        lines.append(f"weight-bearing allowed: {WEIGHT_BEARING[intake.weight_bearing]}")
    lines += [LIMITS[one] for one in intake.precautions]
    if intake.recent_surgery_weeks is not None:
        lines.append(f"surgery {weeks_ago(intake.recent_surgery_weeks)}: local limits come first")
    pains = [trial.pain for trial in session.trials if trial.counts and trial.pain is not None]
    if pains and max(pains) > PAIN_LIMIT:
        lines.append(f"pain up to {max(pains)} of 10 during testing")
    sheet.blank()
    if not lines:
        sheet.item("Precautions", "none arose from what was recorded")
    for line in lines:
        sheet.item("Precaution", line)


def _write_retest(
    sheet: Sheet, protocol: Protocol, session: Session, assessment: Assessment, cited: Citations
) -> None:
    sheet.blank()
    sheet.item("Test again on (date, set by the clinician)", "______________")
    if assessment.outcome == "refer-first":
        sheet.text("Only once the referral has been answered.", indent=2)
        return
    leading = dict.fromkeys(driver.driver for driver in assessment.leading)
    for driver in protocol.drivers:
        if driver.id in leading and driver.retest:
            sheet.item(driver.name, f"{driver.retest} {cited.cite(driver.source)}", indent=2)
    again = dict.fromkeys(
        with_side(test_name(protocol, result.test), result.side)
        for result in assessment.results
        if result.standing in ("short of the line", "near the line")
    )
    if again:
        sheet.item("Tests to repeat", joined(list(again)), indent=2)
    if session.trials:
        sheet.text("Same side, same set-up, same use of hands, or it cannot be compared.", indent=2)
        stops = [f"{rule.text} {cited.cite(rule.source)}" for rule in protocol.stop_rules]
        if stops:
            sheet.item("End a test at once for", joined(stops), indent=2)
