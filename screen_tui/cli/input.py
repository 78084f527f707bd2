"""What several commands read: preferences, protocols, a session and what it comes to."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

from screen_tui.cli.arguments import STANDARD
from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment
from screen_tui.errors import NotFoundError
from screen_tui.files.places import preferences_file, protocols_folder
from screen_tui.files.text import tell
from screen_tui.files.toml import MOST_BYTES, TomlDocument, parse_toml, read_toml
from screen_tui.preferences import Preferred, folders_in_use, preferences_told
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.file import check_against, session_in
from screen_tui.session.model import Session


def preferences() -> Preferred:
    """What the person prefers; where the file cannot be used, it says so."""
    return preferences_told(preferences_file(), tell)


def protocol_folders(arguments: argparse.Namespace, wished: Preferred) -> list[Path]:
    """The folders of protocols in use, the program's own first."""
    return folders_in_use(protocols_folder(), wished, arguments.protocols)


def protocol_loader(arguments: argparse.Namespace) -> Callable[[str], ScreenProtocol]:
    """What loads the protocol of a battery."""
    folders = protocol_folders(arguments, preferences())
    return lambda battery: load_protocol(folders, battery)


def session_and_protocol(arguments: argparse.Namespace) -> tuple[ScreenProtocol, Session]:
    """The session of the file that was named, and the protocol it was made with.

    Raises:
        ScreenError: One of them is missing or cannot be used.
    """
    document = _session_document(arguments.file)
    session = session_in(document)
    protocol = protocol_loader(arguments)(session.protocol)
    check_against(session, protocol, document)
    return protocol, session


def judged(arguments: argparse.Namespace) -> tuple[ScreenProtocol, Session, Assessment]:
    """The same, and what the session comes to."""
    protocol, session = session_and_protocol(arguments)
    assessment = assess(protocol, session)
    show_remarks(assessment)
    return protocol, session, assessment


def show_remarks(assessment: Assessment) -> None:
    """Show the remarks on a session."""
    for remark in assessment.remarks:
        tell(f"screen-tui: {remark}")


def _session_document(file: str) -> TomlDocument:
    if file != STANDARD:
        return read_toml(Path(file))
    if sys.stdin is None:
        raise NotFoundError("Standard input is closed, so there is no session to read from it.")
    return parse_toml(sys.stdin.buffer.read(MOST_BYTES + 1), Path("standard input"))
