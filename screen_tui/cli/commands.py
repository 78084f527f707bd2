"""What each command does; none imports the screens, nor what only another needs."""

from __future__ import annotations

import argparse
import atexit
import gc
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from screen_tui.cli.outputs import STANDARD
from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment
from screen_tui.errors import FileRefusedError, NotFoundError
from screen_tui.files.places import (
    PREFERENCES_NAME,
    demo_folder,
    practice_runs_folder,
    preferences_file,
    protocols_folder,
    sessions_folder,
)
from screen_tui.files.text import harmless
from screen_tui.files.toml import MOST_BYTES, TomlDocument, parse_toml, read_toml
from screen_tui.preferences import (
    NAMES,
    Preferred,
    check_preferences,
    folders_in_use,
    preferences_told,
    preferred,
)
from screen_tui.protocol.loader import load_protocol, read_layers
from screen_tui.protocol.model import Protocol
from screen_tui.protocol.raw import files_of
from screen_tui.report.explain import write_summary
from screen_tui.report.machine import SCHEMA_VERSION, assessment_as_dict
from screen_tui.session.file import check_against, session_in
from screen_tui.session.model import Session

Tell = Callable[[str], None]
"""Writes a message for the person, apart from the data."""


def run(arguments: argparse.Namespace, tell: Tell) -> int:
    """Do the command of a parsed command line and give its exit code.

    Raises:
        ScreenError: It cannot be done; the error says why and knows its exit code.
    """
    # As a process ends, Python looks through all objects for circles of them. That takes a
    # fifteenth of the time of a command, and all there is goes with the process.
    atexit.register(gc.freeze)
    command: Callable[[argparse.Namespace, Tell], int] = _COMMANDS[arguments.command]
    return command(arguments, tell)


def _preferred(tell: Tell) -> Preferred:
    return preferences_told(preferences_file(), tell)


def _check(arguments: argparse.Namespace, tell: Tell) -> int:
    own = preferences_file()
    asked_about = any(path.absolute() == own.absolute() for path in arguments.paths)
    # A file that is checked is told of once.
    wished = preferred(own) if asked_about else _preferred(tell)
    folders = _protocol_folders(arguments, wished)
    from screen_tui.practice.files import practice_kinds
    from screen_tui.session.checking import FurtherKind, check_paths, checked_as_dict

    kinds = (
        *practice_kinds(lambda: load_protocol(folders, wished.now.protocol)),
        FurtherKind("preferences", PREFERENCES_NAME, frozenset(NAMES), check_preferences),
    )
    try:
        checked = check_paths(arguments.paths, folders, kinds)
    except FileRefusedError as refusal:
        if arguments.json:
            _write_json(checked_as_dict((), refusal.problems))
        raise
    if arguments.json:
        _write_json(checked_as_dict(checked, ()))
        return 0
    for item in checked:
        tell(f"{item.path}: {item.kind}, in order")
    return 0


def _assess(arguments: argparse.Namespace, tell: Tell) -> int:
    protocol, session, assessment = _judged(arguments, tell)
    if arguments.json:
        _write_json(assessment_as_dict(protocol, session, assessment))
    else:
        sys.stdout.write(write_summary(protocol, assessment))
    return 0


def _explain(arguments: argparse.Namespace, tell: Tell) -> int:
    from screen_tui.report.explain import write_explanation

    explanation = write_explanation(*_judged(arguments, tell))
    if arguments.json:
        steps = explanation.rstrip("\n").split("\n")
        _write_json({"schema_version": SCHEMA_VERSION, "steps": steps})
    else:
        sys.stdout.write(explanation)
    return 0


def _note(arguments: argparse.Namespace, tell: Tell) -> int:
    from screen_tui.cli.note_command import note

    return note(arguments, tell, *_session_and_protocol(arguments, tell), _assessed)


def _visits(arguments: argparse.Namespace, tell: Tell) -> int:
    from screen_tui.cli.visit_commands import show_visits

    return show_visits(arguments, tell, _loader(arguments, tell))


def _change(arguments: argparse.Namespace, tell: Tell) -> int:
    from screen_tui.cli.visit_commands import show_change

    return show_change(arguments, tell, _loader(arguments, tell))


def _sheet(arguments: argparse.Namespace, tell: Tell) -> int:
    from screen_tui.cli.export_commands import sheet

    return sheet(arguments, tell, *_judged(arguments, tell))


def _table(arguments: argparse.Namespace, tell: Tell) -> int:
    from screen_tui.cli.export_commands import table

    return table(arguments, tell, _loader(arguments, tell))


def _export(arguments: argparse.Namespace, tell: Tell) -> int:
    from screen_tui.cli.export_commands import export

    return export(arguments, tell, *_judged(arguments, tell))


def _addendum(arguments: argparse.Namespace, tell: Tell) -> int:
    from screen_tui.cli.addendum_command import add_to_session

    return add_to_session(arguments, tell, lambda: _loader(arguments, tell))


def _protocols(arguments: argparse.Namespace, tell: Tell) -> int:
    wished = _preferred(tell)
    folders = _protocol_folders(arguments, wished)
    protocol = load_protocol(folders, wished.now.protocol)
    parts, _ = read_layers([files_of(folder) for folder in folders])
    found = [
        {
            "test": test.id,
            "name": test.name,
            "in_battery": any(item.test == test.id for item in protocol.battery.items),
            "file": str(parts.tests[test.id].document.path),
        }
        for test in protocol.tests
    ]
    if arguments.json:
        _write_json(
            {
                "schema_version": SCHEMA_VERSION,
                "protocol": protocol.battery.id,
                "digest": protocol.digest,
                "folders": [str(folder) for folder in folders],
                "tests": found,
            }
        )
        return 0
    tell(f"screen-tui: {protocol.battery.name} ({protocol.digest})")
    for entry in found:
        outside = "" if entry["in_battery"] else " (not in the battery)"
        file = harmless(str(entry["file"]))
        sys.stdout.write(f"{entry['test']}: {entry['name']}{outside}\n  {file}\n")
    return 0


def _paths(arguments: argparse.Namespace, tell: Tell) -> int:
    wished = _preferred(tell)
    shown = {
        "protocols": [str(folder) for folder in _protocol_folders(arguments, wished)],
        "demo_sessions": str(demo_folder()),
        "sessions": str(sessions_folder(arguments.sessions)),
        "practice": str(practice_runs_folder(arguments.sessions)),
        "preferences": str(wished.path),
    }
    if arguments.json:
        _write_json({"schema_version": SCHEMA_VERSION, **shown})
        return 0
    for folder in shown["protocols"]:
        sys.stdout.write(f"protocols: {harmless(folder)}\n")
    sys.stdout.write(f"demo sessions: {harmless(str(shown['demo_sessions']))}\n")
    sys.stdout.write(f"sessions: {harmless(str(shown['sessions']))}\n")
    sys.stdout.write(f"practice: {harmless(str(shown['practice']))}\n")
    sys.stdout.write(f"preferences: {harmless(str(shown['preferences']))}\n")
    return 0


_COMMANDS: dict[str, Callable[[argparse.Namespace, Tell], int]] = {
    "check": _check,
    "assess": _assess,
    "explain": _explain,
    "note": _note,
    "visits": _visits,
    "change": _change,
    "sheet": _sheet,
    "table": _table,
    "export": _export,
    "addendum": _addendum,
    "protocols": _protocols,
    "paths": _paths,
}


def _protocol_folders(arguments: argparse.Namespace, wished: Preferred) -> list[Path]:
    return folders_in_use(protocols_folder(), wished, arguments.protocols)


def _loader(arguments: argparse.Namespace, tell: Tell) -> Callable[[str], Protocol]:
    folders = _protocol_folders(arguments, _preferred(tell))
    return lambda battery: load_protocol(folders, battery)


def _judged(arguments: argparse.Namespace, tell: Tell) -> tuple[Protocol, Session, Assessment]:
    protocol, session = _session_and_protocol(arguments, tell)
    return protocol, session, _assessed(protocol, session, tell)


def _session_and_protocol(arguments: argparse.Namespace, tell: Tell) -> tuple[Protocol, Session]:
    document = _session_document(arguments.file)
    session = session_in(document)
    protocol = load_protocol(_protocol_folders(arguments, _preferred(tell)), session.protocol)
    check_against(session, protocol, document)
    return protocol, session


def _assessed(protocol: Protocol, session: Session, tell: Tell) -> Assessment:
    assessment = assess(protocol, session)
    for remark in assessment.remarks:
        tell(f"screen-tui: {remark}")
    return assessment


def _session_document(file: str) -> TomlDocument:
    if file != STANDARD:
        return read_toml(Path(file))
    if sys.stdin is None:
        raise NotFoundError("Standard input is closed, so there is no session to read from it.")
    return parse_toml(sys.stdin.buffer.read(MOST_BYTES + 1), Path("standard input"))


def _write_json(data: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(data, indent=2, allow_nan=False) + "\n")
