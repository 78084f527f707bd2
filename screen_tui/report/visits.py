"""Visits as plain text: a block of the note, two side by side, or all of a client over time."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from screen_tui import __version__
from screen_tui.engine.assess import assess
from screen_tui.engine.change import Change, compare, digest_remarks
from screen_tui.engine.visits import History, Visits, history_of
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import visit_facts
from screen_tui.report.text import TextWriter
from screen_tui.report.visit_facts import TableRow
from screen_tui.report.words import INVENTED, cautions, joined, moment, short_digest, test_on
from screen_tui.session.model import Session

CHART_WIDTH = 64
_NOTE_CHART_WIDTH = 60
NOTHING_TO_COMPARE = "One visit: nothing to compare yet."

_TITLES = TableRow("Visit", "Date", "Value", "Since the first", "Since the one before")


def write_visits(
    protocol: ScreenProtocol, history: History, written: datetime, *, ascii_only: bool = True
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
    out = TextWriter(protocol, ascii_only=ascii_only)
    _write_head(out, protocol, history, written)
    _write_results(out, protocol, history)
    _write_answers(out, protocol, history)
    _write_progress(out, protocol, history)
    out.sources("None was needed for this note.")
    out.heading("Cautions")
    for caution in cautions("report"):
        out.text(caution)
    return str(out)


def _write_head(
    out: TextWriter, protocol: ScreenProtocol, history: History, written: datetime
) -> None:
    out.text("Knee screen: visits over time")
    out.text("Rule-based comparison, not a diagnosis")
    if history.synthetic:
        out.text(INVENTED)
    out.blank()
    out.item("Client label", history.label)
    out.facts(visit_facts.visit_fact(visit) for visit in history.visits)
    if history.left_out:
        out.item("Left out", visit_facts.left_out_words(history))
    out.item("Report written", moment(written))
    out.item("Program", f"screen-tui {__version__}")
    out.item("Protocol", f"{protocol.battery.id} ({short_digest(protocol.digest)})")
    for remark in history.remarks:
        out.item("Remark", remark)


def _write_results(out: TextWriter, protocol: ScreenProtocol, history: History) -> None:
    out.heading("Results over time")
    out.text(NOTHING_TO_COMPARE if len(history.visits) < 2 else visit_facts.WHAT_IS_A_CHANGE)
    if not history.series:
        out.text("No test was done.")
    for series in visit_facts.told_over_time(history):
        out.blank()
        out.text(visit_facts.series_name(protocol, series))
        rows, notes = visit_facts.series_table(history, series)
        out.drawn([_row(row) for row in (_TITLES, *rows)], indent=2)
        for note in notes:
            out.text(note, indent=2, hang=4)
        for span, change in visit_facts.latest_changes(history, series):
            _write_change(out, span, change)
        drawn = visit_facts.series_chart(history, series, width=CHART_WIDTH, ascii=out.ascii_only)
        out.drawn(["", *drawn], indent=2)
    once = visit_facts.once_facts(protocol, history)
    if once:
        out.blank()
        out.text("No trend, for want of a second number:")
        out.facts(once, indent=2)


def _row(row: TableRow) -> str:
    return (
        f"{row.visit:>5}  {row.on:<10}  {row.value:>8}  {row.since_first:<19}  {row.since_previous}"
    ).rstrip()


def _write_change(out: TextWriter, label: str, change: Change) -> None:
    """Write what became of a number, and below it what must stand beside that."""
    out.item(label, out.cited(visit_facts.change_fact(change)), indent=2)
    out.facts(visit_facts.further_facts(change), indent=4)


def _write_answers(out: TextWriter, protocol: ScreenProtocol, history: History) -> None:
    out.heading("The answer then and now")
    out.facts(visit_facts.answer_facts(history.visits))
    for then, now in visit_facts.then_and_now(history):
        out.blank()
        out.text(f"What moved it, visit {then.number} to {now.number}, strongest first:")
        out.facts(visit_facts.driver_facts(protocol, then, now), indent=2)
        out.facts(visit_facts.moved_facts(protocol, then, now), indent=2)


def _write_progress(out: TextWriter, protocol: ScreenProtocol, history: History) -> None:
    then = visit_facts.plan_to_follow(history)
    if then is None:
        return
    now = history.visits[-1]
    out.heading(f"What was started at visit {then.number}, seen at visit {now.number}")
    out.text(visit_facts.A_PART_ONLY)
    for progress in visit_facts.plan_followed(protocol, then, now):
        out.blank()
        out.text(visit_facts.progress_name(protocol, progress))
        out.facts(visit_facts.progress_facts(protocol, progress), indent=2)


def write_changes(protocol: ScreenProtocol, earlier: Session, later: Session) -> str:
    """Say what became of every result between two visits of one client.

    Returns:
        Printable ASCII, at most 72 columns, ended by one line feed.
    """
    out = TextWriter(protocol)
    out.text("Rule-based comparison, not a diagnosis")
    if later.synthetic:
        out.text(INVENTED)
    out.item("Then", moment(earlier.started))
    out.item("Now", moment(later.started))
    for remark in digest_remarks(protocol, earlier, later):
        out.item("Remark", remark)
    out.blank()
    out.text(visit_facts.WHAT_IS_A_CHANGE)
    changes = compare(protocol, earlier, later)
    if not changes:
        out.text("No test was done at either visit.")
    place = ""
    for change in changes:
        name = test_on(protocol, change.test, change.side)
        if name != place:
            out.blank()
            out.text(name)
            place = name
        _write_change(out, change.label, change)
    out.sources()
    return str(out)


def write_change_since_first(
    out: TextWriter, protocol: ScreenProtocol, session: Session, earlier: Sequence[Session]
) -> None:
    """Write each result of a visit against the first one; nothing where there was none.

    Args:
        out: The note it is a block of.
        protocol: Both visits are read by it.
        session: This visit.
        earlier: Sessions of the same client; what did not start before this one is passed over.
    """
    before = [one for one in earlier if one.started < session.started and one.id != session.id]
    if not before:
        return
    in_order = sorted((*before, session), key=lambda one: (one.started, one.id))
    first = in_order[0]
    changes = compare(protocol, first, session)
    out.blank()
    out.text(f"Change since the first visit ({moment(first.started)}):")
    out.text(visit_facts.WHAT_IS_A_CHANGE, indent=2)
    for remark in digest_remarks(protocol, first, session):
        out.item("Remark", remark, indent=2)
    for change in changes:
        if change.now.done:
            place = test_on(protocol, change.test, change.side)
            _write_change(out, f"{place}, {change.label}", change)
    changed = [one for one in changes if one.verdict in ("better", "worse")]
    if changed:
        _write_charts(out, protocol, in_order, changed)
    left = [test_on(protocol, one.test, one.side) for one in changes if not one.now.done]
    if left:
        out.item("Tested then and not now", joined(dict.fromkeys(left)), indent=2)
    out.item("The answer then", assess(protocol, first).headline, indent=2)


def _write_charts(
    out: TextWriter,
    protocol: ScreenProtocol,
    in_order: Sequence[Session],
    changed: Sequence[Change],
) -> None:
    """Draw what changed beyond error over all visits, the line and the error band with it."""
    last = in_order[-1]
    visits = Visits(last.client.label, last.synthetic, tuple(in_order))
    history = history_of(protocol, visits)
    for series in history.series:
        if any((one.test, one.side, one.measure) == series.place for one in changed):
            out.text(visit_facts.series_name(protocol, series), indent=2)
            drawn = visit_facts.series_chart(
                history, series, width=_NOTE_CHART_WIDTH, ascii=out.ascii_only
            )
            out.drawn(drawn, indent=4)
