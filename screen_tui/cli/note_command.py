"""The command that writes the note of a session for the record."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

from screen_tui.cli.outputs import STANDARD, refuse_to_replace, write_file
from screen_tui.engine.results import Assessment
from screen_tui.files.places import sessions_folder
from screen_tui.protocol.model import Protocol
from screen_tui.report.deidentify import deidentified
from screen_tui.report.note import head_of, write_note
from screen_tui.report.text import characters_lost
from screen_tui.session.model import Session
from screen_tui.session.prior_visits import trail_of
from screen_tui.timing.clock import SystemClock
from screen_tui.trial.offered import offered_words

Tell = Callable[[str], None]
"""Writes a message for the person, apart from the data."""


def note(
    arguments: argparse.Namespace,
    tell: Tell,
    protocol: Protocol,
    session: Session,
    assessed: Callable[[Protocol, Session, Tell], Assessment],
) -> int:
    """Write the note of a session.

    Args:
        arguments: What was asked.
        tell: Writes a message for the person.
        protocol: The protocol the session is judged by.
        session: What happened.
        assessed: Judges a session, and tells the remarks on it.

    Raises:
        ScreenError: It cannot be written where it should.
    """
    written = SystemClock().wall()
    if arguments.deidentify:
        view = deidentified(session, written, offered_words(protocol))
        tell(f"screen-tui: left out: {', '.join(view.removed)}.")
        tell(
            f"screen-tui: kept: {', '.join(view.kept)}. Read the note before you pass it on: what "
            "is rare can tell who it is."
        )
        session, head = view.session, view.head
        assessment = view.told(assessed(protocol, session, tell))
    else:
        assessment, head = assessed(protocol, session, tell), head_of(session, written)
    earlier = () if arguments.deidentify else _visits_before(arguments, protocol, session, tell)
    note = write_note(protocol, session, assessment, written, head=head, earlier=earlier)
    # Of earlier visits nothing is told in anybody's own words; their charts alone have other signs.
    whole = write_note(protocol, session, assessment, written, ascii_only=False, head=head)
    lost = characters_lost(whole)
    if lost:
        tell(
            f"screen-tui: {lost} character{'' if lost == 1 else 's'} of the session cannot be "
            "spelled in plain ASCII; each stands as ? in the note. The session keeps them."
        )
    if arguments.output == STANDARD:
        sys.stdout.write(note)
        return 0
    target = Path(arguments.output)
    refuse_to_replace(target, [arguments.file], force=arguments.force, what="the note")
    write_file(target, note.encode(), replace=arguments.force, what="the note")
    tell(f"screen-tui: the note is in {target}.")
    return 0


def _visits_before(
    arguments: argparse.Namespace, protocol: Protocol, session: Session, tell: Tell
) -> tuple[Session, ...]:
    """The visits a re-test follows, as far as they lie beside its file."""
    if arguments.file == STANDARD:
        folder = sessions_folder(arguments.sessions)
    else:
        folder = Path(arguments.file).absolute().parent
    trail = trail_of(session, folder, protocol)
    if trail.missing:
        tell(
            f"screen-tui: the note tells of no change since the visit {trail.missing}. {trail.why}"
        )
    return trail.visits
