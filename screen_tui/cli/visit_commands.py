"""The commands about visits over time: ``visits`` and ``change``."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

from screen_tui.engine.visits import Visits, history_of, marks_of, visits_of
from screen_tui.errors import EntryRefusedError, FileRefusedError, NotFoundError, Problem
from screen_tui.files.places import sessions_folder
from screen_tui.files.text import harmless
from screen_tui.files.toml import TomlDocument, read_toml
from screen_tui.protocol.model import Protocol
from screen_tui.report.machine import (
    SCHEMA_VERSION,
    changes_as_dict,
    history_as_dict,
    listing_as_dict,
)
from screen_tui.report.visits import write_changes, write_visits
from screen_tui.session.file import check_against, session_in
from screen_tui.session.label import label_key
from screen_tui.session.listing import list_sessions, read_session
from screen_tui.session.model import Session
from screen_tui.timing.clock import SystemClock

Tell = Callable[[str], None]
"""Writes a message for the person, apart from the data."""

ProtocolOf = Callable[[str], Protocol]
"""Loads the protocol of a battery."""

_Read = tuple[TomlDocument, Session]


def show_visits(arguments: argparse.Namespace, tell: Tell, protocol_of: ProtocolOf) -> int:
    """Print the visits of a client, or the list of all clients.

    Returns:
        0; where a file had to be left out, which may be one of this client's, 3.

    Raises:
        EntryRefusedError: Neither a label nor ``--list`` was given, or both.
        NotFoundError: No session of the folder has that label, or for the list there is none.
        FileRefusedError: Of the client's sessions none can be used.
    """
    if (arguments.label is None) != arguments.list:
        raise EntryRefusedError("Give the label of a client, or --list, and not both.")
    folder = sessions_folder(arguments.sessions)
    read, left_out = _all_sessions(folder)
    for problem in left_out:
        tell(f"screen-tui: left out: {problem}")
    if arguments.list:
        _list(visits_of(session for _, session in read), folder, arguments)
        return FileRefusedError.exit_code if left_out else 0
    wanted = label_key(arguments.label)
    mine = [one for one in read if label_key(one[1].client.label) == wanted]
    if not mine:
        raise NotFoundError(f"There is no visit of {arguments.label} in {folder}.")
    latest = max(mine, key=lambda one: (one[1].started, one[1].id))[1]
    protocol = protocol_of(latest.protocol)
    usable, misfits = _usable(mine, protocol)
    for misfit in misfits:
        tell(f"screen-tui: left out: {misfit}")
    histories = [history_of(protocol, client) for client in visits_of(usable)]
    code = FileRefusedError.exit_code if left_out or misfits else 0
    if arguments.json:
        # More than one where an invented person bears the same label.
        told = [history_as_dict(protocol, one) for one in histories]
        _write_json({"schema_version": SCHEMA_VERSION, "clients": told})
        return code
    written = SystemClock().wall()
    sys.stdout.write("\n\n".join(write_visits(protocol, one, written) for one in histories))
    return code


def show_change(arguments: argparse.Namespace, tell: Tell, protocol_of: ProtocolOf) -> int:
    """Print what changed between two sessions of one client.

    Raises:
        EntryRefusedError: The two are of different clients, or the same session.
        FileRefusedError: One of them cannot be used.
    """
    read = [_session_of(Path(file)) for file in (arguments.file, arguments.file2)]
    (_, first), (_, second) = read
    if label_key(first.client.label) != label_key(second.client.label):
        raise EntryRefusedError(
            "The two sessions have different labels: they are not of one client."
        )
    if first.synthetic != second.synthetic:
        raise EntryRefusedError("One of the two sessions is invented, the other is not.")
    if first.id == second.id:
        raise EntryRefusedError("Both files hold the same session.")
    earlier, later = sorted((first, second), key=lambda one: (one.started, one.id))
    if earlier is not first:
        tell("screen-tui: the second file is the earlier visit; it is taken as such.")
    protocol = protocol_of(later.protocol)
    for document, session in read:
        check_against(session, protocol, document)
    if arguments.json:
        _write_json(changes_as_dict(protocol, earlier, later))
    else:
        sys.stdout.write(write_changes(protocol, earlier, later))
    return 0


def _list(clients: Sequence[Visits], folder: Path, arguments: argparse.Namespace) -> None:
    if not clients:
        raise NotFoundError(f"There is no session in {folder}.")
    if arguments.json:
        _write_json(listing_as_dict(clients))
        return
    for client in clients:
        count = len(client.sessions)
        invented = ", invented" if client.synthetic else ""
        many = f"{count} visit{'' if count == 1 else 's'}{invented}"
        sys.stdout.write(f"{harmless(client.label)}: {many}\n")
        for session in client.sessions:
            marks = "; ".join(marks_of(session, client.sessions))
            told = f"{session.started.date().isoformat()}  {session.id}"
            sys.stdout.write(f"  {told}{f'  ({harmless(marks)})' if marks else ''}\n")


def _all_sessions(folder: Path) -> tuple[list[_Read], list[str]]:
    """Every session of a folder, and what is wrong with each file that cannot be used."""
    found = list_sessions(folder, lambda _: False)
    read = [read_session(one.path) for one in found if not one.problem]
    return read, [one.problem for one in found if one.problem]


def _usable(read: Iterable[_Read], protocol: Protocol) -> tuple[list[Session], list[Problem]]:
    """The sessions a protocol can read, and what keeps it from reading the others.

    Raises:
        FileRefusedError: None is left.
    """
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


def _session_of(path: Path) -> _Read:
    document = read_toml(path)
    return document, session_in(document)


def _write_json(data: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(data, indent=2, allow_nan=False) + "\n")
