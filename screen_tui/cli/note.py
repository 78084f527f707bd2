"""``note``: the plain-text note of a saved session, for the record."""

from __future__ import annotations

import argparse
from pathlib import Path

from screen_tui.cli.arguments import STANDARD, takes_session, writes_file
from screen_tui.cli.deidentify import takes_deidentify, without_identity
from screen_tui.cli.input import session_and_protocol, show_remarks
from screen_tui.cli.output import put
from screen_tui.engine.assess import assess
from screen_tui.files.places import sessions_folder
from screen_tui.files.text import tell
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.note import head_of, write_note
from screen_tui.report.text import characters_lost
from screen_tui.session.folder import prior_visits
from screen_tui.session.model import Session
from screen_tui.timing.clock import SystemClock


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    takes_session(command)
    writes_file(command)
    command.add_argument(
        "--full",
        action="store_true",
        help="with everything else as an appendix: trials, cut-offs, every finding, sources",
    )
    takes_deidentify(command)


def run(arguments: argparse.Namespace) -> int:
    """Write the note.

    Raises:
        ScreenError: The session cannot be used, or the note not written where it should.
    """
    protocol, session = session_and_protocol(arguments)
    written = SystemClock().wall()
    earlier: tuple[Session, ...] = ()
    if arguments.deidentify:
        view = without_identity(protocol, session, written)
        session, head, assessment = view.session, view.head, view.assessed(protocol)
    else:
        assessment, head = assess(protocol, session), head_of(session, written)
        earlier = _earlier_visits(arguments, protocol, session)
    show_remarks(assessment)
    full = arguments.full
    note = write_note(protocol, session, assessment, written, full=full, head=head, earlier=earlier)
    lost = characters_lost(session.model_dump_json())
    if lost:
        tell(
            f"screen-tui: {lost} character{'' if lost == 1 else 's'} of the session cannot be "
            "spelled in plain ASCII; each is ? in the note. The session has them."
        )
    put(note.encode(), arguments, "the note", [arguments.file])
    return 0


def _earlier_visits(
    arguments: argparse.Namespace, protocol: ScreenProtocol, session: Session
) -> tuple[Session, ...]:
    """The visits a retest follows, as far as they are beside its file."""
    if arguments.file == STANDARD:
        folder = sessions_folder(arguments.sessions)
    else:
        folder = Path(arguments.file).absolute().parent
    found = prior_visits(session, folder, protocol)
    if found.lacks:
        tell(f"screen-tui: the note shows no change since the visit {found.lacks}")
    return found.visits
