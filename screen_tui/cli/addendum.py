"""``addendum``: a correction or a remark added to a finished session."""

from __future__ import annotations

import argparse
import sys

from screen_tui.cli.arguments import a_path
from screen_tui.cli.input import protocol_loader, session_and_protocol
from screen_tui.errors import EntryRefusedError, NotFoundError, ScreenError
from screen_tui.files.text import tell
from screen_tui.session.file import addendum_text, append_to_file, load_session, refuse_unfinished
from screen_tui.session.model import Session
from screen_tui.timing.clock import SystemClock
from screen_tui.trial.addendum import corrected_value, make_addendum, replaced_by_it, trial_at
from screen_tui.written_papers import write_again, written_anew, written_papers


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    command.add_argument("file", type=a_path, metavar="FILE", help="a session file; it grows")
    command.add_argument("--reason", required=True, metavar="WORDS", help="why it is added")
    command.add_argument("--text", default="", metavar="WORDS", help="what is added, in words")
    command.add_argument(
        "--trial", type=int, metavar="N", help="about a trial, numbered as explain numbers them"
    )
    change = command.add_mutually_exclusive_group()
    change.add_argument("--value", metavar="V", help="what the trial's value should have been")
    change.add_argument("--strike", action="store_true", help="the trial is void")


def run(arguments: argparse.Namespace) -> int:
    """Add an addendum to a session's file, and print what was added.

    A note and a sheet in their usual place beside the file are written anew.

    Returns:
        0; where a written note or sheet could not be, what keeps it from that.

    Raises:
        EntryRefusedError: It cannot be added like this, or the session is not finished.
        ScreenError: The file cannot be used or written.
    """
    session = load_session(arguments.file)
    refuse_unfinished(session)
    addendum = make_addendum(
        session,
        SystemClock().wall().replace(microsecond=0),
        arguments.reason,
        text=arguments.text,
        trial=arguments.trial,
        value=None if arguments.value is None else _value(session, arguments),
        strike=arguments.strike,
    )
    replaced = replaced_by_it(session, addendum.trial or 0) if addendum.changes_a_trial else ""
    append_to_file(arguments.file, addendum)
    sys.stdout.write(addendum_text(addendum))
    tell(f"screen-tui: added to {arguments.file}; all that was in it is unchanged.")
    if replaced:
        tell(f"screen-tui: {replaced}")
    return _write_papers_again(arguments, session.id)


def _write_papers_again(arguments: argparse.Namespace, session_id: str) -> int:
    folder = arguments.file.absolute().parent
    if not written_papers(folder, session_id):
        return 0
    try:
        protocol, session = session_and_protocol(arguments)
        old = write_again(protocol, session, folder, SystemClock().wall())
    except ScreenError as error:
        tell(f"screen-tui: the note and sheet written before are not up to date. {error}")
        return error.exit_code
    if old:
        tell(f"screen-tui: {written_anew(old)}.")
    return 0


def _value(session: Session, arguments: argparse.Namespace) -> float:
    protocol = protocol_loader(arguments)(session.protocol)
    if arguments.trial is None:
        raise EntryRefusedError("Say with --trial N which trial has that value.")
    trial = trial_at(session, arguments.trial)
    spec = protocol.known_test(trial.test)
    if spec is None:
        raise NotFoundError(f"The protocol in use has no test {trial.test}; add --protocols DIR.")
    return corrected_value(spec, trial, arguments.value, arguments.reason)
