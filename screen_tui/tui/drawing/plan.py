"""The plan: what to start and leave out, what to heed, when to test again, what was not done."""

from __future__ import annotations

from screen_tui.engine.results import Assessment, Start
from screen_tui.protocol.model import Protocol
from screen_tui.report import words
from screen_tui.report.not_done import ALL_DONE, not_done_facts
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
from screen_tui.session.model import Session
from screen_tui.tui.drawing.rows import Row, Span, bulleted, labelled, paragraph, row, rule, stacked
from screen_tui.tui.drawing.words import NOT_A_DIAGNOSIS, short_source, sourced

_LABEL = 10


def draw_plan(
    protocol: Protocol, session: Session, assessment: Assessment, width: int
) -> list[Row]:
    """Draw the second page of the result; longer than a window, it is scrolled.

    Args:
        protocol: Gives the names and sources.
        session: What happened.
        assessment: What it means.
        width: Columns there are.
    """
    parts = [
        _start(protocol, assessment, width),
        _leave_out(protocol, assessment, width),
        [
            rule(width, "Precautions"),
            *bulleted(precautions(session, assessment) or [NO_PRECAUTIONS], width),
        ],
        _retest(protocol, session, assessment, width),
        _not_done(protocol, session, assessment, width),
        [
            rule(width, "Mind"),
            *paragraph(SUGGESTIONS, width),
            *paragraph(NOT_A_DIAGNOSIS, width),
        ],
    ]
    return stacked(parts)


def _start(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    rows = [rule(width, "Start")]
    if not assessment.plan.start:
        return [*rows, *paragraph(nothing_to_start(assessment.outcome), width)]
    for one in assessment.plan.start:
        rows += _exercise(protocol, one, width)
    return rows


def _exercise(protocol: Protocol, one: Start, width: int) -> list[Row]:
    driver = words.with_side(words.driver_name(protocol, one.driver), one.side)
    rows = paragraph(f"{one.name} (for: {driver})", width, "strong")
    # The dose first: with the name it is what is looked for at a glance.
    for label, text in (
        ("Dose", one.dose),
        ("Position", one.position),
        ("Cue", one.cue),
        ("Feel", one.feel),
        ("Stop when", one.stop),
        ("Go on if", one.progress_when),
        ("Go on to", one.progress_to),
        ("Source", short_source(protocol, one.source)),
    ):
        rows += paragraph(text, width, first=row(Span(f"  {label:<{_LABEL}}", "quiet")))
    return rows


def _leave_out(protocol: Protocol, assessment: Assessment, width: int) -> list[Row]:
    texts = [
        f"{one.name}: {one.reason} ({short_source(protocol, one.source)})"
        for one in assessment.plan.leave_out
    ]
    return [rule(width, "Leave out for now"), *bulleted(texts or [NOTHING_LEFT_OUT], width)]


def _retest(protocol: Protocol, session: Session, assessment: Assessment, width: int) -> list[Row]:
    rows = [rule(width, RETEST_DATE)]
    for fact in retest_facts(protocol, session, assessment):
        told = sourced(protocol, fact)
        rows += labelled(fact.label, told, width) if fact.label else paragraph(told, width)
    stops = stop_rule_facts(protocol, session, assessment)
    if stops:
        rows.append(row(Span(f"{STOP_AT_ONCE}:", "strong")))
        rows += bulleted((sourced(protocol, fact) for fact in stops), width)
    return rows


def _not_done(
    protocol: Protocol, session: Session, assessment: Assessment, width: int
) -> list[Row]:
    facts = not_done_facts(protocol, session, assessment)
    texts = [f"{fact.label}: {fact.text}" for fact in facts]
    return [rule(width, "Not done, and why"), *bulleted(texts or [ALL_DONE], width)]
