"""Visits as plain text: two side by side, or all of a client over time."""

from __future__ import annotations

from datetime import datetime

from screen_tui import __version__
from screen_tui.engine.change import compare, digest_remarks
from screen_tui.engine.visits import Course, History, Visit
from screen_tui.protocol.whole import Protocol
from screen_tui.report.facts import Citations, Fact
from screen_tui.report.note import CAUTIONS, write_sources
from screen_tui.report.text import Sheet
from screen_tui.report.visit_facts import (
    A_PART_ONLY,
    WHAT_IS_A_CHANGE,
    TableRow,
    answer_facts,
    change_fact,
    course_chart,
    course_name,
    course_table,
    driver_facts,
    further_facts,
    latest_changes,
    left_out_words,
    moved_facts,
    plan_followed,
    plan_to_follow,
    progress_facts,
    progress_name,
    single_words,
    then_and_now,
    visit_fact,
)
from screen_tui.report.words import moment, short_digest, test_name, with_side
from screen_tui.session.model import Session

CHART_WIDTH = 64
NOTHING_TO_COMPARE = "One visit: nothing to compare yet."

_TITLES = TableRow("Visit", "Date", "Value", "Since the first", "Since the one before")


def write_visits(
    protocol: Protocol, history: History, written: datetime, *, ascii_only: bool = True
) -> str:
    """Write the report of a client's visits.

    Args:
        protocol: The protocol the visits are read by.
        history: What they show: ``history_of(protocol, visits)``.
        written: When the report is written, with its offset from UTC.
        ascii_only: Fold everything to printable ASCII; otherwise texts keep their characters.

    Returns:
        Lines of at most 72 columns ended by line feeds, without tabs or trailing blanks. The same
        arguments always give the same text.
    """
    sheet = Sheet(ascii_only=ascii_only)
    cited = Citations(protocol)
    _write_head(sheet, protocol, history, written)
    _write_results(sheet, protocol, history, cited, ascii_only=ascii_only)
    _write_answers(sheet, protocol, history, cited)
    _write_plan(sheet, protocol, history, cited)
    write_sources(sheet, cited)
    sheet.heading("Cautions")
    for caution in CAUTIONS:
        sheet.text(caution.replace("This note", "This report"))
    return str(sheet)


def _write_head(sheet: Sheet, protocol: Protocol, history: History, written: datetime) -> None:
    sheet.text("Knee screen: visits over time")
    sheet.text("Rule-based comparison, not a diagnosis")
    if history.synthetic:
        sheet.text("Invented demonstration data: this is not a real person.")
    sheet.blank()
    sheet.item("Client label", history.label)
    for visit in history.visits:
        told = visit_fact(visit)
        sheet.item(told.label, told.text)
    if history.left_out:
        sheet.item("Left out", left_out_words(history))
    sheet.item("Report written", moment(written))
    sheet.item("Program", f"screen-tui {__version__}")
    sheet.item("Protocol", f"{protocol.battery.id} ({short_digest(protocol.digest)})")
    for remark in history.remarks:
        sheet.item("Remark", remark)


def _write_results(
    sheet: Sheet, protocol: Protocol, history: History, cited: Citations, *, ascii_only: bool
) -> None:
    sheet.heading("Results over time")
    if len(history.visits) < 2:
        sheet.text(NOTHING_TO_COMPARE)
    else:
        sheet.text(WHAT_IS_A_CHANGE)
    if not history.courses:
        sheet.text("No test was done.")
    for course in history.courses:
        if len(course.measured) < 2:
            continue
        sheet.blank()
        sheet.text(course_name(protocol, course))
        rows, notes = course_table(history, course)
        sheet.drawn([_row(row) for row in (_TITLES, *rows)], indent=2)
        for note in notes:
            sheet.text(note, indent=2, hang=4)
        _write_latest(sheet, history, course, cited)
        drawn = course_chart(history, course, width=CHART_WIDTH, ascii=ascii_only)
        sheet.drawn(["", *drawn], indent=2)
    once = [course for course in history.courses if len(course.measured) < 2]
    if once:
        sheet.blank()
        sheet.text("No trend, for want of a second number:")
    for course in once:
        sheet.item(course_name(protocol, course), single_words(history, course), indent=2)


def _row(row: TableRow) -> str:
    return (
        f"{row.visit:>5}  {row.on:<10}  {row.value:>8}  {row.since_first:<19}  {row.since_previous}"
    ).rstrip()


def _write_latest(sheet: Sheet, history: History, course: Course, cited: Citations) -> None:
    """The latest number against the first and against the one before it, in full."""
    for span, change in latest_changes(history, course):
        sheet.item(span, cited.told(change_fact(change)), indent=2)
        for more in further_facts(change):
            sheet.item(more.label, cited.told(more), indent=4)


def _write_answers(sheet: Sheet, protocol: Protocol, history: History, cited: Citations) -> None:
    sheet.heading("The answer then and now")
    for fact in answer_facts(history.visits):
        sheet.item(fact.label, fact.text)
    for then, now in then_and_now(history):
        _write_moved(sheet, protocol, then, now, cited)


def _write_moved(
    sheet: Sheet, protocol: Protocol, then: Visit, now: Visit, cited: Citations
) -> None:
    sheet.blank()
    sheet.text(f"What moved it, visit {then.number} to {now.number}, strongest first:")
    for fact in driver_facts(protocol, then, now):
        sheet.item(fact.label, fact.text, indent=2)
    for fact in moved_facts(protocol, then, now):
        _write_fact(sheet, fact, cited, indent=2)


def _write_plan(sheet: Sheet, protocol: Protocol, history: History, cited: Citations) -> None:
    then = plan_to_follow(history)
    if then is None:
        return
    now = history.visits[-1]
    sheet.heading(f"What was started at visit {then.number}, seen at visit {now.number}")
    sheet.text(A_PART_ONLY)
    for progress in plan_followed(protocol, then, now):
        sheet.blank()
        sheet.text(progress_name(protocol, progress))
        for fact in progress_facts(protocol, progress):
            _write_fact(sheet, fact, cited, indent=2)


def _write_fact(sheet: Sheet, fact: Fact, cited: Citations, *, indent: int) -> None:
    if fact.label:
        sheet.item(fact.label, cited.told(fact), indent=indent)
    else:
        sheet.text(cited.told(fact), indent=indent)


def write_changes(protocol: Protocol, earlier: Session, later: Session) -> str:
    """Say what became of every result between two visits of one client.

    Returns:
        Printable ASCII, at most 72 columns, ended by one line feed.
    """
    sheet, cited = Sheet(), Citations(protocol)
    sheet.text("Rule-based comparison, not a diagnosis")
    if later.synthetic:
        sheet.text("Invented demonstration data: this is not a real person.")
    sheet.item("Then", moment(earlier.started))
    sheet.item("Now", moment(later.started))
    for remark in digest_remarks(protocol, earlier, later):
        sheet.item("Remark", remark)
    sheet.blank()
    sheet.text(WHAT_IS_A_CHANGE)
    changes = compare(protocol, earlier, later)
    if not changes:
        sheet.text("No test was done at either visit.")
    place = ""
    for change in changes:
        name = with_side(test_name(protocol, change.test), change.side)
        if name != place:
            sheet.blank()
            sheet.text(name)
            place = name
        fact = change_fact(change)
        sheet.item(fact.label, cited.told(fact), indent=2)
        for more in further_facts(change):
            sheet.item(more.label, cited.told(more), indent=4)
    if cited.listed():
        write_sources(sheet, cited)
    return str(sheet)
