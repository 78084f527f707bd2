"""Two visits side by side in a screenful of plain text: what ``screen-tui change`` prints."""

from __future__ import annotations

from screen_tui.engine.change import compare, digest_remarks
from screen_tui.protocol.model import Protocol
from screen_tui.report.ascii import Sheet
from screen_tui.report.change_words import WHAT_IS_A_CHANGE, change_fact, further_facts
from screen_tui.report.citations import Citations
from screen_tui.report.note_tail import write_sources
from screen_tui.report.words import moment, test_name, with_side
from screen_tui.session.model import Session


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
