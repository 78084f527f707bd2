"""The answer: the verdict first, then what it stands on, then the results behind it."""

from __future__ import annotations

from screen_tui.engine.results import Assessment, Outcome
from screen_tui.protocol.model import Protocol
from screen_tui.report import words
from screen_tui.report.cue_words import cue_effect_words, cue_label
from screen_tui.report.reading_facts import (
    WHAT_WEIGHTS_ARE,
    driver_standing,
    drivers_beside,
    drivers_in_full,
    has_say,
    why_nothing_settles,
)
from screen_tui.session.model import Session
from screen_tui.tui.drawing.results import draw_results
from screen_tui.tui.drawing.rows import (
    BLANK,
    Ink,
    Row,
    Span,
    labelled,
    paragraph,
    row,
    rule,
    stacked,
)
from screen_tui.tui.drawing.weighing import MOST_FOR, draw_argument, draw_more, draw_rests
from screen_tui.tui.drawing.words import (
    NOT_A_DIAGNOSIS,
    driver_name,
    minutes,
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


def draw_answer(
    protocol: Protocol,
    session: Session,
    assessment: Assessment,
    width: int,
    height: int,
    *,
    startable: bool = True,
) -> list[Row]:
    """Draw the first page of the result; longer than a window, it is scrolled.

    Args:
        protocol: Gives the names and sources.
        session: What happened.
        assessment: What it means.
        width: Columns there are.
        height: Rows in sight; as many findings stand in front as leave each driver its place.
        startable: The suggested tests can be started with their digits.
    """
    most, glance = _glance(protocol, session, assessment, width, height)
    parts: list[list[Row]] = [
        glance,
        _settles(protocol, session, assessment, width, "key" if startable else "strong"),
        *(draw_more(protocol, one, width, most=most) for one in drivers_in_full(assessment)),
        _cues(protocol, assessment, width),
        draw_results(protocol, assessment.results, width),
        _others(protocol, assessment, width),
        _mind(assessment, width),
    ]
    return stacked(parts)


def _glance(
    protocol: Protocol, session: Session, assessment: Assessment, width: int, height: int
) -> tuple[int, list[Row]]:
    """The verdict and what speaks for and against it, within a window where that can be.

    Returns:
        How many findings of each driver are told in full in it, and its rows, followed by what the
        answer rests on.
    """
    shown = drivers_in_full(assessment)
    above = stacked(
        [
            _stopped(session.stopped, width) if session.stopped else [],
            _verdict(protocol, assessment, width),
            _cautions(protocol, assessment, width) if assessment.cautions else [],
        ]
    )
    for most in range(MOST_FOR, -1, -1):
        arguments = [draw_argument(protocol, one, width, most=most) for one in shown]
        told = stacked(arguments) if most else [line for part in arguments for line in part]
        rows = stacked([above, told])
        if len(rows) <= height:
            break
    rests = draw_rests(protocol, assessment.leading, width)
    # What several drivers rest on stands apart: it is about all of them.
    return most, [*rows, *([BLANK] if len(shown) > 1 and rests else []), *rests]


def _verdict(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    head = [row(Span(OUTCOME_WORDS[assessment.outcome], "verdict"))]
    for driver in assessment.leading:
        head += paragraph(driver_name(protocol, driver).upper(), width, "first")
    if assessment.outcome == "likely" and len(assessment.leading) == 1:
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


def _cautions(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    rows = [rule(width, "Why")]
    for caution in assessment.cautions:
        rows += paragraph(caution.name, width, "strong")
        source = short_source(protocol, caution.source)
        rows += paragraph(f"{caution.means} ({source})", width)
        rows += labelled("Usual next step", caution.next_step, width)
    return rows


def _settles(
    protocol: Protocol, session: Session, assessment: Assessment, width: int, ink: Ink
) -> list[Row]:
    why_none = why_nothing_settles(session, assessment)
    if why_none:
        return labelled("Would settle it", why_none, width)
    if not assessment.next_tests:
        return []
    rows = [rule(width, "Would settle it, most per minute first")]
    for digit, suggested in enumerate(assessment.next_tests[:MOST_SUGGESTED], start=1):
        name = words.next_place(protocol, suggested)
        text = f"{name} ({minutes(suggested.minutes)}): {suggested.reason}"
        rows += paragraph(text, width, first=row(Span(f" {digit} ", ink), " "))
    return rows


def _cues(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    rows: list[Row] = []
    for effect in assessment.cue_effects:
        place = test_name(protocol, effect.test, effect.side)
        label = f"{place}. {cue_label(effect)}"
        rows += labelled(label, cue_effect_words(protocol, effect), width)
    return [rule(width, "Repeated with a cue"), *rows] if rows else []


def _others(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    rows = [
        line
        for one in drivers_beside(assessment)
        for line in paragraph(
            f"{driver_name(protocol, one)}: {driver_standing(one)}", width, first=row("- ")
        )
    ]
    return [rule(width, "Other drivers"), *rows] if rows else []


def _mind(assessment: Assessment, width: int) -> list[Row]:
    rows = [rule(width, "Mind")]
    for remark in assessment.remarks:
        rows += paragraph(remark, width, first=row("- "))
    if any(has_say(driver) for driver in assessment.drivers):
        rows += paragraph(WHAT_WEIGHTS_ARE, width)
    return [*rows, *paragraph(NOT_A_DIAGNOSIS, width)]
