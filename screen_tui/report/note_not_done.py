"""The tests that were not done, as the note tells them."""

from __future__ import annotations

from screen_tui.engine.results import Assessment
from screen_tui.protocol.model import Protocol
from screen_tui.report.ascii import Sheet
from screen_tui.report.not_done import ALL_DONE, not_done_facts
from screen_tui.session.model import Session


def write_not_done(
    sheet: Sheet, protocol: Protocol, session: Session, assessment: Assessment
) -> None:
    """Write each reason once, with the tests it holds for."""
    facts = not_done_facts(protocol, session, assessment)
    sheet.blank()
    if not facts:
        sheet.text(f"Not done: {ALL_DONE}.")
        return
    sheet.text("Not done, and why:")
    for fact in facts:
        sheet.item(fact.label, fact.text, indent=2)
