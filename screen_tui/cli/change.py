"""``change``: two sessions of a patient compared test by test."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from screen_tui.cli.arguments import a_name, writes_json
from screen_tui.cli.input import protocol_loader
from screen_tui.cli.output import print_json
from screen_tui.engine.visits import history_of
from screen_tui.errors import EntryRefusedError
from screen_tui.files.text import tell
from screen_tui.files.toml import read_toml
from screen_tui.report.machine import changes_as_dict
from screen_tui.report.visits import write_visits
from screen_tui.session.file import check_against, session_in
from screen_tui.session.model import label_key
from screen_tui.timing.clock import SystemClock


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    command.add_argument("file", type=a_name, metavar="FILE1", help="a session file")
    command.add_argument(
        "file2", type=a_name, metavar="FILE2", help="another one of the same patient"
    )
    writes_json(command)


def run(arguments: argparse.Namespace) -> int:
    """Print what changed between two sessions of one patient.

    Raises:
        EntryRefusedError: The two are of different patients, or the same session.
        FileRefusedError: One of them cannot be used.
    """
    load = protocol_loader(arguments)
    documents = [read_toml(Path(file)) for file in (arguments.file, arguments.file2)]
    first, second = (session_in(document) for document in documents)
    if label_key(first.client.label) != label_key(second.client.label):
        raise EntryRefusedError(
            "The two sessions have different patient codes: they are not of one patient."
        )
    if first.synthetic != second.synthetic:
        raise EntryRefusedError("One of the two sessions is invented, the other is not.")
    if first.id == second.id:
        raise EntryRefusedError("Both files hold the same session.")
    earlier, later = sorted((first, second), key=lambda one: (one.started, one.id))
    if earlier is not first:
        tell("screen-tui: the second file is the earlier visit; it is taken as such.")
    protocol = load(later.protocol)
    for document, session in zip(documents, (first, second), strict=True):
        check_against(session, protocol, document)
    if arguments.json:
        print_json(changes_as_dict(protocol, earlier, later))
    else:
        history = history_of(protocol, (earlier, later))
        sys.stdout.write(write_visits(protocol, history, SystemClock().wall()))
    return 0
