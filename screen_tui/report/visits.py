"""Visits as plain text: two side by side, or all of a client over time."""

from __future__ import annotations

from datetime import datetime

from screen_tui import __version__
from screen_tui.engine.change import compare, digest_remarks
from screen_tui.engine.visits import History, MeasureSeries, Visit
from screen_tui.protocol.whole import Protocol
from screen_tui.report.facts import Citations, Fact
from screen_tui.report.note import CAUTIONS, write_sources
from screen_tui.report.text import TextWriter
from screen_tui.report.visit_facts import (
    A_PART_ONLY,
    WHAT_IS_A_CHANGE,
    TableRow,
    answer_facts,
    change_fact,
    driver_facts,
    further_facts,
    latest_changes,
    left_out_words,
    moved_facts,
    plan_followed,
    plan_to_follow,
    progress_facts,
    progress_name,
    series_chart,
    series_name,
    series_table,
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
    out = TextWriter(ascii_only=ascii_only)
    cited = Citations(protocol)
    _write_head(out, protocol, history, written)
    _write_results(out, protocol, history, cited, ascii_only=ascii_only)
    _write_answers(out, protocol, history, cited)
    _write_plan(out, protocol, history, cited)
    write_sources(out, cited)
    out.heading("Cautions")
    for caution in CAUTIONS:
        out.text(caution.replace("This note", "This report"))
    return str(out)


def _write_head(out: TextWriter, protocol: Protocol, history: History, written: datetime) -> None:
    out.text("Knee screen: visits over time")
    out.text("Rule-based comparison, not a diagnosis")
    if history.synthetic:
        out.text("Invented demonstration data: this is not a real person.")
    out.blank()
    out.item("Client label", history.label)
    for visit in history.visits:
        told = visit_fact(visit)
        out.item(told.label, told.text)
    if history.left_out:
        out.item("Left out", left_out_words(history))
    out.item("Report written", moment(written))
    out.item("Program", f"screen-tui {__version__}")
    out.item("Protocol", f"{protocol.battery.id} ({short_digest(protocol.digest)})")
    for remark in history.remarks:
        out.item("Remark", remark)


def _write_results(
    out: TextWriter, protocol: Protocol, history: History, cited: Citations, *, ascii_only: bool
) -> None:
    out.heading("Results over time")
    if len(history.visits) < 2:
        out.text(NOTHING_TO_COMPARE)
    else:
        out.text(WHAT_IS_A_CHANGE)
    if not history.series:
        out.text("No test was done.")
    for series in history.series:
        if len(series.measured) < 2:
            continue
        out.blank()
        out.text(series_name(protocol, series))
        rows, notes = series_table(history, series)
        out.drawn([_row(row) for row in (_TITLES, *rows)], indent=2)
        for note in notes:
            out.text(note, indent=2, hang=4)
        _write_latest(out, history, series, cited)
        drawn = series_chart(history, series, width=CHART_WIDTH, ascii=ascii_only)
        out.drawn(["", *drawn], indent=2)
    once = [series for series in history.series if len(series.measured) < 2]
    if once:
        out.blank()
        out.text("No trend, for want of a second number:")
    for series in once:
        out.item(series_name(protocol, series), single_words(history, series), indent=2)


def _row(row: TableRow) -> str:
    return (
        f"{row.visit:>5}  {row.on:<10}  {row.value:>8}  {row.since_first:<19}  {row.since_previous}"
    ).rstrip()


def _write_latest(
    out: TextWriter, history: History, series: MeasureSeries, cited: Citations
) -> None:
    """The latest number against the first and against the one before it, in full."""
    for span, change in latest_changes(history, series):
        out.item(span, cited.told(change_fact(change)), indent=2)
        for more in further_facts(change):
            out.item(more.label, cited.told(more), indent=4)


def _write_answers(out: TextWriter, protocol: Protocol, history: History, cited: Citations) -> None:
    out.heading("The answer then and now")
    for fact in answer_facts(history.visits):
        out.item(fact.label, fact.text)
    for then, now in then_and_now(history):
        _write_moved(out, protocol, then, now, cited)


def _write_moved(
    out: TextWriter, protocol: Protocol, then: Visit, now: Visit, cited: Citations
) -> None:
    out.blank()
    out.text(f"What moved it, visit {then.number} to {now.number}, strongest first:")
    for fact in driver_facts(protocol, then, now):
        out.item(fact.label, fact.text, indent=2)
    for fact in moved_facts(protocol, then, now):
        _write_fact(out, fact, cited, indent=2)


def _write_plan(out: TextWriter, protocol: Protocol, history: History, cited: Citations) -> None:
    then = plan_to_follow(history)
    if then is None:
        return
    now = history.visits[-1]
    out.heading(f"What was started at visit {then.number}, seen at visit {now.number}")
    out.text(A_PART_ONLY)
    for progress in plan_followed(protocol, then, now):
        out.blank()
        out.text(progress_name(protocol, progress))
        for fact in progress_facts(protocol, progress):
            _write_fact(out, fact, cited, indent=2)


def _write_fact(out: TextWriter, fact: Fact, cited: Citations, *, indent: int) -> None:
    if fact.label:
        out.item(fact.label, cited.told(fact), indent=indent)
    else:
        out.text(cited.told(fact), indent=indent)


def write_changes(protocol: Protocol, earlier: Session, later: Session) -> str:
    """Say what became of every result between two visits of one client.

    Returns:
        Printable ASCII, at most 72 columns, ended by one line feed.
    """
    out, cited = TextWriter(), Citations(protocol)
    out.text("Rule-based comparison, not a diagnosis")
    if later.synthetic:
        out.text("Invented demonstration data: this is not a real person.")
    out.item("Then", moment(earlier.started))
    out.item("Now", moment(later.started))
    for remark in digest_remarks(protocol, earlier, later):
        out.item("Remark", remark)
    out.blank()
    out.text(WHAT_IS_A_CHANGE)
    changes = compare(protocol, earlier, later)
    if not changes:
        out.text("No test was done at either visit.")
    place = ""
    for change in changes:
        name = with_side(test_name(protocol, change.test), change.side)
        if name != place:
            out.blank()
            out.text(name)
            place = name
        fact = change_fact(change)
        out.item(fact.label, cited.told(fact), indent=2)
        for more in further_facts(change):
            out.item(more.label, cited.told(more), indent=4)
    if cited.listed():
        write_sources(out, cited)
    return str(out)
