"""The note: a session and its meaning as plain text for the record, in SOAP order."""

from __future__ import annotations

from datetime import datetime

from screen_tui.engine.results import Assessment
from screen_tui.protocol.model import Protocol
from screen_tui.report.ascii import Sheet
from screen_tui.report.citations import Citations
from screen_tui.report.note_change import write_change
from screen_tui.report.note_head import Head, head_of, write_head, write_said
from screen_tui.report.note_measured import write_measured
from screen_tui.report.note_plan import write_plan
from screen_tui.report.note_reading import write_reading
from screen_tui.report.note_tail import write_tail
from screen_tui.session.model import Session


def write_note(
    protocol: Protocol,
    session: Session,
    assessment: Assessment,
    written: datetime,
    *,
    ascii_only: bool = True,
    head: Head | None = None,
    earlier: tuple[Session, ...] = (),
) -> str:
    """Write the note of one screen.

    Args:
        protocol: The protocol the session was judged by.
        session: What happened.
        assessment: What it means: ``assess(protocol, session)``.
        written: When the note is written, with its offset from UTC.
        ascii_only: Fold everything to printable ASCII; otherwise texts keep their characters.
        head: Who and when, where it is told in another way than in full.
        earlier: Sessions of the same client; the changes since the first of them are told too.

    Returns:
        Lines of at most 72 columns ended by line feeds, without tabs or trailing blanks. The same
        arguments always give the same text.
    """
    sheet = Sheet(ascii_only=ascii_only)
    cited = Citations(protocol)
    write_head(sheet, protocol, session, head or head_of(session, written))
    write_said(sheet, protocol, session)
    write_measured(sheet, protocol, session, assessment, cited)
    if earlier:
        write_change(sheet, protocol, session, earlier, cited)
    write_reading(sheet, protocol, session, assessment, cited)
    write_plan(sheet, protocol, session, assessment, cited)
    write_tail(sheet, protocol, session, cited)
    return str(sheet)
