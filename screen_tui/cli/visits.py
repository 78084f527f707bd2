"""``visits``: the visits of a patient over time, or the list of all patients."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from screen_tui.cli.arguments import a_name, writes_json
from screen_tui.cli.input import protocol_loader
from screen_tui.cli.output import print_json
from screen_tui.engine.visits import history_of, marks_of, visits_of
from screen_tui.errors import EntryRefusedError, FileRefusedError, NotFoundError, Problem
from screen_tui.files.places import sessions_folder
from screen_tui.files.text import harmless, tell
from screen_tui.files.toml import TomlDocument
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.machine import history_as_dict, listing_as_dict
from screen_tui.report.visits import write_visits
from screen_tui.session.file import check_against
from screen_tui.session.folder import list_sessions, read_session
from screen_tui.session.model import Session, label_key
from screen_tui.timing.clock import SystemClock


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    command.add_argument(
        "label",
        nargs="?",
        type=a_name,
        metavar="CODE",
        help="the patient code, upper or lower case",
    )
    command.add_argument(
        "--list", action="store_true", help="list all patient codes with their visits"
    )
    writes_json(command)


def run(arguments: argparse.Namespace) -> int:
    """Print the visits of a patient, or the list of all patients.

    Returns:
        0; where a file had to be left out, which may be one of this patient's, 3.

    Raises:
        EntryRefusedError: Neither a code nor ``--list`` was given, or both.
        NotFoundError: No session of the folder has that code, or for the list there is none.
        FileRefusedError: Of the patient's sessions none can be used.
    """
    load = protocol_loader(arguments)
    if (arguments.label is None) != arguments.list:
        raise EntryRefusedError("Give the code of a patient, or --list, and not both.")
    folder = sessions_folder(arguments.sessions)
    found = list_sessions(folder, lambda _: False).sessions
    read = [read_session(one.path) for one in found if not one.problem]
    left_out = [one.problem for one in found if one.problem]
    for problem in left_out:
        tell(f"screen-tui: left out: {problem}")
    if arguments.list:
        _list(visits_of(session for _, session in read), folder, as_json=arguments.json)
        return FileRefusedError.exit_code if left_out else 0
    wanted = label_key(arguments.label)
    mine = [one for one in read if label_key(one[1].client.label) == wanted]
    if not mine:
        raise NotFoundError(f"There is no visit of {arguments.label} in {folder}.")
    latest = max(mine, key=lambda one: (one[1].started, one[1].id))[1]
    protocol = load(latest.protocol)
    usable, mismatches = _usable(mine, protocol)
    for mismatch in mismatches:
        tell(f"screen-tui: left out: {mismatch}")
    # More than one where an invented person bears the same code.
    histories = [history_of(protocol, patient) for patient in visits_of(usable)]
    if arguments.json:
        patients = [history_as_dict(protocol, one) for one in histories]
        print_json({"clients": patients}, versioned=True)
    else:
        written = SystemClock().wall()
        sys.stdout.write("\n\n".join(write_visits(protocol, one, written) for one in histories))
    return FileRefusedError.exit_code if left_out or mismatches else 0


def _list(patients: Sequence[Sequence[Session]], folder: Path, *, as_json: bool) -> None:
    if not patients:
        raise NotFoundError(f"There is no session in {folder}.")
    if as_json:
        print_json(listing_as_dict(patients))
        return
    for patient in patients:
        count = len(patient)
        invented = ", invented" if patient[-1].synthetic else ""
        many = f"{count} visit{'' if count == 1 else 's'}{invented}"
        sys.stdout.write(f"{harmless(patient[-1].client.label.strip())}: {many}\n")
        for session in patient:
            marks = "; ".join(marks_of(session, patient))
            text = f"{session.started.date().isoformat()}  {session.id}"
            sys.stdout.write(f"  {text}{f'  ({harmless(marks)})' if marks else ''}\n")


def _usable(
    read: Iterable[tuple[TomlDocument, Session]], protocol: ScreenProtocol
) -> tuple[list[Session], list[Problem]]:
    """The sessions a protocol can read, and what keeps it from reading the others."""
    usable: list[Session] = []
    problems: list[Problem] = []
    for document, session in read:
        try:
            check_against(session, protocol, document)
            usable.append(session)
        except FileRefusedError as refusal:
            problems += refusal.problems
    if not usable:
        raise FileRefusedError(tuple(problems))
    return usable, problems
