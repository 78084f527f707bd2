"""The result: the verdict first, then what it stands on, then what to do with it."""

from __future__ import annotations

from collections.abc import Iterable

from screen_tui.engine.results import (
    Assessment,
    DriverWeight,
    Outcome,
    ReferenceUsed,
    Result,
)
from screen_tui.protocol.whole import Protocol
from screen_tui.report import words
from screen_tui.tui.drawing.rows import BLANK, Ink, Row, Span, cells, paragraph, row, rule
from screen_tui.tui.drawing.weighing import draw_rest, draw_strongest
from screen_tui.tui.drawing.words import (
    NOT_A_DIAGNOSIS,
    driver_name,
    minutes,
    result_amount,
    short_source,
    test_name,
)

OUTCOME_WORDS: dict[Outcome, str] = {
    "likely": "LIKELY DRIVER",
    "mixed": "MIXED: MORE THAN ONE DRIVER",
    "possible": "POSSIBLE DRIVER",
    "undetermined": "UNDETERMINED",
    "nothing-found": "NOTHING FOUND",
    "refer-first": "REFER FIRST",
    "unloaded-only": "UNLOADED TESTS ONLY",
}

MOST_SUGGESTED = 9
_MOST_OF_ONE = 3
_MOST_OF_SEVERAL = 2
"""Findings for each driver on the first page: of one that leads alone, and of several."""


def draw_result(
    protocol: Protocol,
    assessment: Assessment,
    width: int,
    *,
    startable: bool = True,
    stopped: str = "",
) -> list[Row]:
    """Draw the whole result; longer than a window, it is scrolled.

    Args:
        protocol: Gives the names and sources.
        assessment: What to draw.
        width: Columns there are.
        startable: The suggested tests can be started with their digits.
        stopped: Why the whole screen was stopped for safety; empty when it was not.
    """
    leading = assessment.leading
    most = _MOST_OF_ONE if len(leading) == 1 else _MOST_OF_SEVERAL
    parts: list[list[Row]] = [_stopped(stopped, width)] if stopped else []
    parts.append(_verdict(protocol, assessment, width))
    if assessment.cautions:
        parts.append(_cautions(protocol, assessment, width))
    parts.extend(draw_strongest(protocol, driver, width, most=most) for driver in leading)
    if assessment.next_tests:
        parts.append(_next_tests(protocol, assessment, width, "key" if startable else "strong"))
    parts.extend(draw_rest(protocol, driver, width, most=most) for driver in leading)
    if not leading:
        parts.append(_others(protocol, assessment, width))
    if assessment.results:
        parts.append(_results(protocol, assessment.results, width))
    if leading:
        parts.append(_others(protocol, assessment, width))
    parts.append(_start(protocol, assessment, width))
    parts.append(_leave_out(protocol, assessment, width))
    parts.append(_not_done(protocol, assessment, width))
    remarks = _bullets(assessment.remarks, width)
    parts.append([rule(width, "Mind"), *remarks, *paragraph(NOT_A_DIAGNOSIS, width)])
    return [line for part in parts if part for line in (*part, BLANK)][:-1]


def _verdict(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    word = OUTCOME_WORDS[assessment.outcome]
    names = [driver_name(protocol, driver) for driver in assessment.leading]
    head = [row(Span(word, "verdict"))]
    for name in names:
        head += paragraph(name.upper(), width, "first")
    if assessment.outcome == "likely":
        # Word and name have said what the headline says.
        return head
    return [*head, *paragraph(assessment.headline, width)]


def _stopped(reason: str, width: int) -> list[Row]:
    return [
        row(Span("SCREEN STOPPED", "verdict")),
        *paragraph(reason, width, "first"),
        *paragraph(
            "Settle this before any exercise or further test. What follows is what was seen until "
            "then; the plan is left empty.",
            width,
        ),
    ]


def _bullets(texts: Iterable[str], width: int, mark: str = "-") -> list[Row]:
    return [line for text in texts for line in paragraph(text, width, first=row(f"{mark} "))]


def _cautions(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    rows = [rule(width, "Why")]
    for caution in assessment.cautions:
        rows += paragraph(caution.name, width, "strong")
        rows += paragraph(caution.means, width)
        source = short_source(protocol, caution.source)
        rows += paragraph(
            f"{caution.next_step} ({source})", width, first=row("Usual next step: "), indent=2
        )
    return rows


def _next_tests(protocol: Protocol, assessment: Assessment, width: int, ink: Ink) -> list[Row]:
    rows = [rule(width, "Would settle it, most per minute first")]
    for digit, suggested in enumerate(assessment.next_tests[:MOST_SUGGESTED], start=1):
        name = words.next_place(protocol, suggested)
        text = f"{name} ({minutes(suggested.minutes)}): {suggested.reason}"
        rows += paragraph(text, width, first=row(Span(f" {digit} ", ink), " "))
    return rows


def _results(protocol: Protocol, results: tuple[Result, ...], width: int) -> list[Row]:
    rows = [rule(width, "Results")]
    for result in results:
        rows += _one_result(protocol, result, width)
    return rows


def _one_result(protocol: Protocol, result: Result, width: int) -> list[Row]:
    name = test_name(protocol, result.test, result.side)
    test = protocol.known_test(result.test)
    if test is not None and len(test.measures) > 1:
        name = f"{name}: {result.label}"
    value = result_amount(result)
    standing = words.standing_words(result)
    space = width - cells(name) - cells(value) - 1
    rows = (
        [row(name, " " * space, Span(f" {value}", "strong"))]
        if space > 0
        else paragraph(f"{name}: {value}", width)
    )
    rows += paragraph(standing, width, "second" if result.short else "strong", first=row("  "))
    return rows + [
        line
        for text in _details(protocol, result)
        for line in paragraph(text, width, "quiet", first=row("  "))
    ]


def _details(protocol: Protocol, result: Result) -> list[str]:
    texts: list[str] = []
    lines = [("Line", result.line)] if result.line else []
    for lead, line in (*lines, *(("Also past", flag) for flag in result.flags)):
        limit = words.limit_words(line, result.decimals, result.unit)
        source = short_source(protocol, line.source)
        texts.append(f"{lead}: {limit}; {line.meaning} ({source})")
    if result.standing == "near the line" and result.near_within is not None:
        within = words.quantity(result.near_within, max(result.decimals, 1), result.unit)
        texts.append(f"Near: within the measurement error of {within}")
    if result.reference is not None:
        texts.append(_beside(protocol, result.reference, result.decimals))
    if result.symmetry_percent is not None:
        texts.append(f"Sides: the worse is {result.symmetry_percent:.0f} % of the better")
    if result.slowing_percent is not None:
        change = f"{result.slowing_percent:+.0f} %"
        texts.append(f"Within the series: last third against first third {change} time")
    return texts


def _beside(protocol: Protocol, reference: ReferenceUsed, decimals: int) -> str:
    spread = "" if reference.sd is None else f", SD {reference.sd:.{decimals}f}"
    place = "" if reference.percentile is None else f", percentile {reference.percentile:.0f}"
    provisional = "; provisional" if reference.provisional else ""
    source = short_source(protocol, reference.source)
    return (
        f"Beside it: mean {reference.mean:.{decimals}f}{spread}{place}, "
        f"{reference.population} ({source}{provisional})"
    )


def _others(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    leading = {(one.driver, one.side) for one in assessment.leading}
    rows = [
        line
        for one in assessment.drivers
        if (one.driver, one.side) not in leading
        for line in paragraph(
            f"{driver_name(protocol, one)}: {_standing(one)}", width, first=row("- ")
        )
    ]
    return [rule(width, "Other drivers"), *rows] if rows else []


def _standing(driver: DriverWeight) -> str:
    words = {"none": "nothing for or against", "against": "speaks against", "weak": "weak"}
    return words.get(driver.standing, driver.standing)


def _start(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    if not assessment.plan.start:
        return []
    rows = [rule(width, "Start")]
    for one in assessment.plan.start:
        rows += paragraph(words.with_side(one.name, one.side), width, "strong")
        for label, text in (
            ("Position", one.position),
            ("Dose", one.dose),
            ("Cue", one.cue),
            ("Feel", one.feel),
            ("Stop", one.stop),
            ("Go on", f"{one.progress_when}: {one.progress_to}"),
            ("Source", short_source(protocol, one.source)),
        ):
            rows += paragraph(text, width, first=row(Span(f"  {label:<9}", "quiet")))
    return rows


def _leave_out(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    if not assessment.plan.leave_out:
        return []
    return [
        rule(width, "Leave out for now"),
        *_bullets(
            (
                f"{one.name}: {one.reason} ({short_source(protocol, one.source)})"
                for one in assessment.plan.leave_out
            ),
            width,
        ),
    ]


def _not_done(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    if not assessment.not_done:
        return []
    return [
        rule(width, "Not done"),
        *_bullets(
            (
                f"{test_name(protocol, test, side)}: {reason}"
                for test, side, reason in assessment.not_done
            ),
            width,
        ),
    ]
