"""What each command does. Only opening the program imports the screens."""

from __future__ import annotations

import argparse
import contextlib
import json
import stat
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from screen_tui.clock import SystemClock
from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment
from screen_tui.errors import NotFoundError, SaveFailedError
from screen_tui.harmless import harmless
from screen_tui.opening import folders_in_use, protocol_to_open
from screen_tui.preferences import NAMES, Preferred, check_preferences, preferred
from screen_tui.protocol.loader import load_protocol, read_layers
from screen_tui.protocol.parts import files_of
from screen_tui.protocol.whole import Protocol
from screen_tui.report.ascii import characters_lost
from screen_tui.report.explain import write_explanation
from screen_tui.report.machine import SCHEMA_VERSION, assessment_as_dict
from screen_tui.report.note import write_note
from screen_tui.report.summary import write_summary
from screen_tui.resources import (
    PREFERENCES_NAME,
    demo_folder,
    preferences_file,
    protocols_folder,
    sessions_folder,
)
from screen_tui.session.checking import FurtherKind, check_paths
from screen_tui.session.leftovers import remove_leftovers
from screen_tui.session.model import Session
from screen_tui.session.safewrite import write_new, write_whole
from screen_tui.session.sessionfile import check_against, session_in
from screen_tui.session.store import SessionStore
from screen_tui.tomlfile import MOST_BYTES, TomlDocument, parse_toml, read_toml

STANDARD = "-"
"""Stands for standard input or output where a file is asked for."""

Tell = Callable[[str], None]
"""Writes a message for the person, apart from the data."""


def run(arguments: argparse.Namespace, tell: Tell) -> int:
    """Do the command of a parsed command line and give its exit code.

    Raises:
        ScreenError: It cannot be done; the error says why and knows its exit code.
    """
    command: Callable[[argparse.Namespace, Tell], int] = _COMMANDS[arguments.command]
    return command(arguments, tell)


def open_program(arguments: argparse.Namespace, tell: Tell) -> int:
    """Open the program on the screen; with ``--demo`` on invented sessions.

    Raises:
        ScreenError: The protocols cannot be used.
    """
    from screen_tui.tui.run import run_app

    wished = _preferred(tell)
    protocol, opened = protocol_to_open(protocols_folder(), wished, arguments.protocols)
    for problem in opened.problems[len(wished.problems) :]:
        tell(problem)
    if not arguments.demo:
        return run_app(protocol, _tidied(sessions_folder(arguments.sessions)), preferred=opened)
    with contextlib.ExitStack() as at_the_end:
        if arguments.sessions is None:
            throw_away = tempfile.TemporaryDirectory(prefix="screen-tui-demo-")
            folder = Path(at_the_end.enter_context(throw_away))
            tell(
                "screen-tui: a demonstration; what you record in it is thrown away when the "
                "program closes. Add --sessions DIR to keep it."
            )
        else:
            folder = sessions_folder(arguments.sessions)
            tell(f"screen-tui: a demonstration; what you record in it is kept in {folder}.")
        return run_app(protocol, _tidied(folder), demo_folder=demo_folder(), preferred=opened)


def _preferred(tell: Tell) -> Preferred:
    """The preferences to go by; where their file cannot be used, that is told."""
    wished = preferred(preferences_file())
    for problem in wished.problems:
        tell(problem)
    if wished.problems:
        tell("screen-tui: so the usual preferences hold; that file is left as it is.")
    return wished


def _tidied(folder: Path) -> SessionStore:
    """The store of a folder, without what killed programs left in it."""
    remove_leftovers(folder)
    return SessionStore(folder)


def _check(arguments: argparse.Namespace, tell: Tell) -> int:
    own = preferences_file()
    asked_about = any(path.absolute() == own.absolute() for path in arguments.paths)
    # A file that is checked is told of once.
    wished = preferred(own) if asked_about else _preferred(tell)
    checked = check_paths(arguments.paths, _protocol_folders(arguments, wished), [_PREFERENCES])
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
    sys.stdout.write(write_explanation(*_judged(arguments, tell)))
    return 0


def _note(arguments: argparse.Namespace, tell: Tell) -> int:
    protocol, session, assessment = _judged(arguments, tell)
    written = SystemClock().wall()
    note = write_note(protocol, session, assessment, written)
    lost = characters_lost(write_note(protocol, session, assessment, written, ascii_only=False))
    if lost:
        tell(
            f"screen-tui: {lost} character{'' if lost == 1 else 's'} of the session cannot be "
            "spelled in plain ASCII; each stands as ? in the note. The session keeps them."
        )
    if arguments.output == STANDARD:
        sys.stdout.write(note)
        return 0
    target = Path(arguments.output)
    _refuse_to_replace(target, arguments)
    _write_file(target, note, replace=arguments.force)
    tell(f"screen-tui: the note is in {target}.")
    return 0


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
        "preferences": str(wished.path),
    }
    if arguments.json:
        _write_json({"schema_version": SCHEMA_VERSION, **shown})
        return 0
    for folder in shown["protocols"]:
        sys.stdout.write(f"protocols: {harmless(folder)}\n")
    sys.stdout.write(f"demo sessions: {harmless(str(shown['demo_sessions']))}\n")
    sys.stdout.write(f"sessions: {harmless(str(shown['sessions']))}\n")
    sys.stdout.write(f"preferences: {harmless(str(shown['preferences']))}\n")
    return 0


_COMMANDS: dict[str, Callable[[argparse.Namespace, Tell], int]] = {
    "check": _check,
    "assess": _assess,
    "explain": _explain,
    "note": _note,
    "protocols": _protocols,
    "paths": _paths,
}


_PREFERENCES = FurtherKind("preferences", PREFERENCES_NAME, frozenset(NAMES), check_preferences)


def _protocol_folders(arguments: argparse.Namespace, wished: Preferred) -> list[Path]:
    return folders_in_use(protocols_folder(), wished, arguments.protocols)


def _judged(arguments: argparse.Namespace, tell: Tell) -> tuple[Protocol, Session, Assessment]:
    document = _session_document(arguments.file)
    session = session_in(document)
    protocol = load_protocol(_protocol_folders(arguments, _preferred(tell)), session.protocol)
    check_against(session, protocol, document)
    assessment = assess(protocol, session)
    for remark in assessment.remarks:
        tell(f"screen-tui: {remark}")
    return protocol, session, assessment


def _session_document(file: str) -> TomlDocument:
    if file != STANDARD:
        return read_toml(Path(file))
    if sys.stdin is None:
        raise NotFoundError("Standard input is closed, so there is no session to read from it.")
    return parse_toml(sys.stdin.buffer.read(MOST_BYTES + 1), Path("standard input"))


def _refuse_to_replace(target: Path, arguments: argparse.Namespace) -> None:
    """Refuse a place for the note that would cost something that is there.

    Raises:
        SaveFailedError: Something stands there and may not be replaced.
    """
    if not target.exists():
        return
    if arguments.file != STANDARD and target.samefile(arguments.file):
        raise SaveFailedError(
            f"{target} is the session itself; the note needs another name. Nothing was written."
        )
    if not stat.S_ISREG(target.stat().st_mode):
        raise SaveFailedError(f"{target} is not an ordinary file, so no note was written there.")
    if not arguments.force:
        raise SaveFailedError(
            f"{target} is there already and was left as it is. Add --force to replace it."
        )


def _write_file(target: Path, text: str, *, replace: bool) -> None:
    """Write a file that only its owner may read; a replaced one is whole at every moment.

    Raises:
        NotFoundError: Its folder does not exist.
        SaveFailedError: The disk said no; an earlier file is as it was.
    """
    try:
        if replace:
            write_whole(target, text.encode())
        else:
            write_new(target, text.encode())
    except (FileNotFoundError, NotADirectoryError):
        raise NotFoundError(f"There is no folder {target.parent} for the note.") from None
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise SaveFailedError(f"The note cannot be written to {target}: {reason}.") from None


def _write_json(data: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(data, indent=2, allow_nan=False) + "\n")
