"""An assessment in a screenful of plain text: what ``screen-tui assess`` prints for a person."""

from __future__ import annotations

from screen_tui.engine.results import Assessment, Result
from screen_tui.protocol.model import Protocol
from screen_tui.report.ascii import Sheet
from screen_tui.report.words import (
    OUTCOMES,
    driver_name,
    limit_words,
    next_place,
    number,
    quantity,
    standing_words,
    test_name,
    with_side,
)


def write_summary(protocol: Protocol, assessment: Assessment) -> str:
    """Say what an assessment comes to, without the reasons; those are in the note and the JSON.

    Returns:
        Printable ASCII, at most 72 columns, ended by one line feed.
    """
    sheet = Sheet()
    sheet.item("Rule-based suggestion, not a diagnosis", assessment.headline)
    sheet.item("Kind of answer", OUTCOMES[assessment.outcome])
    for caution in assessment.cautions:
        sheet.item(f"Refer first: {caution.name}", caution.next_step)
    _block(sheet, "Results", [_result(protocol, result) for result in assessment.results])
    drivers = [
        (
            with_side(driver_name(protocol, driver.driver), driver.side),
            f"{driver.standing}, weight {number(driver.weight, 1)}",
        )
        for driver in assessment.drivers
        if driver.speaks_for or driver.speaks_against
    ]
    _block(sheet, "Drivers", drivers)
    settles = [(next_place(protocol, item), item.reason) for item in assessment.next_tests]
    _block(sheet, "What would settle it", settles)
    _block(sheet, "Start", [(start.name, start.dose) for start in assessment.plan.start])
    _block(sheet, "Leave out", [(left.name, left.reason) for left in assessment.plan.leave_out])
    skipped = [
        (with_side(test_name(protocol, test), side), reason)
        for test, side, reason in assessment.not_done
    ]
    _block(sheet, "Not done", skipped)
    return str(sheet)


def _block(sheet: Sheet, heading: str, items: list[tuple[str, str]]) -> None:
    if not items:
        return
    sheet.heading(heading)
    for label, value in items:
        sheet.item(label, value, indent=2)


def _result(protocol: Protocol, result: Result) -> tuple[str, str]:
    place = f"{with_side(test_name(protocol, result.test), result.side)}, {result.label}"
    if result.value is None:
        return place, standing_words(result)
    value = quantity(result.value, result.decimals, result.unit)
    line = ""
    if result.line is not None:
        line = f"; line {limit_words(result.line, result.decimals, result.unit)}"
    return place, f"{value}{line}; {standing_words(result)}"
