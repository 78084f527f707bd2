"""The tail of the note: what wrote it, what it stands on, its limits, and who signs."""

from __future__ import annotations

from screen_tui import __version__
from screen_tui.protocol.model import Protocol
from screen_tui.report.ascii import Sheet
from screen_tui.report.citations import Citations
from screen_tui.report.note_addenda import write_addenda
from screen_tui.session.model import Session

CAUTIONS = (
    "This note holds measurements and rule-based suggestions. It is not a diagnosis.",
    "The judgement of the licensed clinician and local policy come first.",
    "A published line describes the group it was measured in; it decides nothing about one person.",
)


def write_tail(sheet: Sheet, protocol: Protocol, session: Session, cited: Citations) -> None:
    """Write sources cited above, program, protocol, cautions, addenda and an empty signature."""
    write_sources(sheet, cited)
    sheet.heading("Program and protocol")
    sheet.item("Program", f"screen-tui {__version__}")
    sheet.item("Protocol", protocol.battery.id)
    kind, _, value = protocol.digest.partition(":")
    sheet.item(f"Protocol digest ({kind})", value)
    sheet.heading("Cautions")
    for caution in CAUTIONS:
        sheet.text(caution)
    write_addenda(sheet, protocol, session)
    sheet.heading("Signature")
    for field in ("Name", "Credential", "Date", "Time"):
        sheet.item(field, "______________________________")
    sheet.item("Co-signature, where local policy asks for one", "____________________")


def write_sources(sheet: Sheet, cited: Citations) -> None:
    """Write the sources cited above, each with its number."""
    sheet.heading("Sources")
    listed = cited.listed()
    if not listed:
        sheet.text("None was needed for this note.")
    for number, entry in listed:
        sheet.text(f"[{number}] {entry}", hang=4)
