"""A: what the numbers show, then what the rules make of them, with all that speaks against it."""

from __future__ import annotations

from screen_tui.engine.results import Assessment, Counted, DriverWeight, Result, Standing
from screen_tui.protocol.model import Protocol
from screen_tui.report.ascii import Sheet
from screen_tui.report.citations import Citations
from screen_tui.report.reading_facts import (
    WHAT_WEIGHTS_ARE,
    again_words,
    can_stand,
    counted_and_again,
    counts_against_fact,
    driver_standing,
    drivers_beside,
    drivers_in_full,
    has_say,
    meaning_fact,
    places_rested_on,
    why_nothing_settles,
)
from screen_tui.report.words import (
    OUTCOMES,
    counted_words,
    driver_name,
    finding_place,
    joined,
    next_place,
    number,
    quantity,
    test_name,
    with_side,
)
from screen_tui.session.model import Session

_STANDINGS: tuple[Standing, ...] = ("short of the line", "near the line", "meets", "not judged")


def write_reading(
    sheet: Sheet, protocol: Protocol, session: Session, assessment: Assessment, cited: Citations
) -> None:
    """Write A: the facts first, then the suggestion, marked as one."""
    sheet.heading("A: Assessment")
    _write_numbers(sheet, protocol, assessment.results)
    sheet.blank()
    sheet.item("Rule-based suggestion, not a diagnosis", assessment.headline)
    sheet.item("Kind of answer", OUTCOMES[assessment.outcome])
    for remark in assessment.remarks:
        sheet.item("Remark", remark)
    _write_referral(sheet, assessment, cited)
    if assessment.outcome != "refer-first":
        _write_drivers(sheet, protocol, assessment, cited)
    _write_next(sheet, protocol, session, assessment)


def _write_numbers(sheet: Sheet, protocol: Protocol, results: tuple[Result, ...]) -> None:
    sheet.text("What the numbers show:")
    if not results:
        sheet.text("Nothing was measured.", indent=2)
    for standing in _STANDINGS:
        places = [
            _result_place(protocol, result) for result in results if result.standing == standing
        ]
        if places:
            label = "meets the line" if standing == "meets" else standing
            sheet.item(label.capitalize(), joined(places), indent=2)


def _result_place(protocol: Protocol, result: Result) -> str:
    place = with_side(test_name(protocol, result.test), result.side)
    told = [result.label]
    if result.value is not None:
        told[0] += f" {quantity(result.value, result.decimals, result.unit)}"
    if result.standing == "not judged" and result.why_not:
        told.append(result.why_not)
    return f"{place} ({', '.join(told)})"


def _write_referral(sheet: Sheet, assessment: Assessment, cited: Citations) -> None:
    """Write what a yes to a safety question means; the words come first in every such note."""
    if assessment.outcome != "refer-first" and not assessment.cautions:
        return
    sheet.blank()
    sheet.text("Refer first")
    if not assessment.cautions:
        sheet.text("The reason stands in the suggestion above.", indent=2)
    for caution in assessment.cautions:
        sheet.item(caution.name, f"{caution.means} {cited.cite(caution.source)}", indent=2)
        sheet.item("Next step", caution.next_step, indent=4)


def _write_drivers(
    sheet: Sheet, protocol: Protocol, assessment: Assessment, cited: Citations
) -> None:
    shown = drivers_in_full(assessment)
    for driver in shown:
        _write_driver(sheet, protocol, driver, cited)
    others = drivers_beside(assessment)
    sheet.blank()
    if others:
        sheet.text("Other drivers weighed:" if shown else "Drivers weighed:")
    for driver in others:
        name = with_side(driver_name(protocol, driver.driver), driver.side)
        sheet.item(name, driver_standing(driver), indent=2)
    if any(has_say(driver) for driver in assessment.drivers):
        sheet.text(WHAT_WEIGHTS_ARE)


def _write_driver(sheet: Sheet, protocol: Protocol, driver: DriverWeight, cited: Citations) -> None:
    sheet.blank()
    name = with_side(driver_name(protocol, driver.driver), driver.side)
    sheet.item(name, driver_standing(driver))
    if (meaning := meaning_fact(protocol, driver)) is not None:
        sheet.item(meaning.label, cited.told(meaning), indent=2)
    _write_findings(sheet, protocol, "For", driver.speaks_for, cited)
    _write_findings(sheet, protocol, "Against", driver.speaks_against, cited)
    if can_stand(driver):
        sheet.item(
            "Rests on",
            joined(places_rested_on(protocol, driver))
            or "no single finding; without any one of them it would stand the same",
            indent=2,
        )
    if (against := counts_against_fact(protocol, driver)) is not None:
        sheet.item(against.label, cited.told(against), indent=2)


def _write_findings(
    sheet: Sheet,
    protocol: Protocol,
    label: str,
    findings: tuple[Counted, ...],
    cited: Citations,
) -> None:
    if not findings:
        sheet.item(label, "nothing found", indent=2)
    told, again = counted_and_again(findings)
    for counted in told:
        finding = counted.finding
        sheet.item(
            label,
            f"{finding.reason} ({finding_place(protocol, finding)}; {counted_words(counted)}) "
            f"{cited.cite(finding.source)}",
            indent=2,
        )
    if again:
        sheet.item(f"{label}, not counted again", joined(again_words(protocol, again)), indent=2)


def _write_next(sheet: Sheet, protocol: Protocol, session: Session, assessment: Assessment) -> None:
    why_none = why_nothing_settles(session, assessment)
    if why_none:
        sheet.blank()
        sheet.text(f"What would settle it: {why_none}")
    elif assessment.next_tests:
        sheet.blank()
        sheet.text("What would settle it, most per minute first:")
        for item in assessment.next_tests:
            sheet.item(
                next_place(protocol, item),
                f"{item.reason} (about {number(item.minutes, 1)} min)",
                indent=2,
            )
