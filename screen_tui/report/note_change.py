"""What changed since the first visit, as a block of the note."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.engine.assess import assess
from screen_tui.engine.change import Change, compare, digest_remarks
from screen_tui.engine.visits import Visits, history_of
from screen_tui.protocol.model import Protocol
from screen_tui.report.ascii import Sheet
from screen_tui.report.change_words import WHAT_IS_A_CHANGE, change_fact, further_facts
from screen_tui.report.citations import Citations
from screen_tui.report.visit_facts import course_chart, course_name
from screen_tui.report.words import joined, moment, test_name, with_side
from screen_tui.session.model import Session

CHART_WIDTH = 60


def write_change(
    sheet: Sheet,
    protocol: Protocol,
    session: Session,
    earlier: Sequence[Session],
    cited: Citations,
) -> None:
    """Write each result of this visit against the first one; nothing where there was none.

    Args:
        sheet: Takes the lines.
        protocol: Both visits are read by it.
        session: This visit.
        earlier: Sessions of the same client; what did not start before this one is passed over.
        cited: Gives the sources their numbers.
    """
    before = [one for one in earlier if one.started < session.started and one.id != session.id]
    if not before:
        return
    first = min(before, key=lambda one: (one.started, one.id))
    changes = compare(protocol, first, session)
    sheet.blank()
    sheet.text(f"Change since the first visit ({moment(first.started)}):")
    sheet.text(WHAT_IS_A_CHANGE, indent=2)
    for remark in digest_remarks(protocol, first, session):
        sheet.item("Remark", remark, indent=2)
    for change in changes:
        if change.now.done:
            fact = change_fact(change)
            sheet.item(f"{_place(protocol, change)}, {fact.label}", cited.told(fact), indent=2)
            for more in further_facts(change):
                sheet.item(more.label, cited.told(more), indent=4)
    _write_charts(sheet, protocol, (*before, session), changes)
    left = dict.fromkeys(_place(protocol, one) for one in changes if not one.now.done)
    if left:
        sheet.item("Tested then and not now", joined(list(left)), indent=2)
    sheet.item("The answer then", assess(protocol, first).headline, indent=2)


def _write_charts(
    sheet: Sheet, protocol: Protocol, sessions: Sequence[Session], changes: Sequence[Change]
) -> None:
    """Draw what changed beyond error over all visits, the line and the error band with it."""
    told = [one for one in changes if one.verdict in ("better", "worse")]
    if not told:
        return
    in_order = tuple(sorted(sessions, key=lambda one: (one.started, one.id)))
    label, synthetic = in_order[-1].client.label, in_order[-1].synthetic
    history = history_of(protocol, Visits(label, synthetic, in_order))
    for course in history.courses:
        if any((one.test, one.side, one.measure) == course.place for one in told):
            sheet.text(course_name(protocol, course), indent=2)
            drawn = course_chart(history, course, width=CHART_WIDTH, ascii=sheet.ascii_only)
            sheet.drawn(drawn, indent=4)


def _place(protocol: Protocol, change: Change) -> str:
    return with_side(test_name(protocol, change.test), change.side)
