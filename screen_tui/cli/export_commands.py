"""The commands that write sessions in other forms: ``sheet``, ``table`` and ``export``.

What they write is UTF-8 whatever the terminal speaks, and the same for the same session.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from screen_tui.cli.outputs import STANDARD, refuse_to_replace, write_file, write_out
from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment
from screen_tui.errors import (
    EntryRefusedError,
    FileRefusedError,
    NotFoundError,
    Problem,
    ScreenError,
)
from screen_tui.files.toml import read_toml
from screen_tui.protocol.model import Protocol
from screen_tui.report.fhir.bundle import write_bundle
from screen_tui.report.patient_sheet import write_patient_html, write_patient_sheet
from screen_tui.report.table import Row, session_rows, write_table
from screen_tui.report.text import characters_lost
from screen_tui.session.draft import is_draft
from screen_tui.session.file import check_against, session_in
from screen_tui.session.model import Session

Tell = Callable[[str], None]
"""Writes a message for the person, apart from the data."""

ProtocolOf = Callable[[str], Protocol]
"""Loads the protocol of a battery."""


def sheet(
    arguments: argparse.Namespace,
    tell: Tell,
    protocol: Protocol,
    session: Session,
    assessment: Assessment,
) -> int:
    """Write the sheet a patient takes home.

    Raises:
        EntryRefusedError: Both HTML and ASCII text were asked for.
        ScreenError: It cannot be written where it should.
    """
    if arguments.html and arguments.ascii:
        raise EntryRefusedError("Give --html or --ascii, and not both: one page has one form.")
    if arguments.html:
        text = write_patient_html(protocol, session, assessment)
    else:
        plain = write_patient_sheet(protocol, session, assessment)
        text = plain
        if arguments.ascii:
            text = write_patient_sheet(protocol, session, assessment, ascii_only=True)
            if characters_lost(plain):
                tell("screen-tui: what cannot be spelled in plain ASCII stands as ? in the sheet.")
    return _put(text, arguments, tell, [arguments.file], "the sheet")


def export(
    arguments: argparse.Namespace,
    tell: Tell,
    protocol: Protocol,
    session: Session,
    assessment: Assessment,
) -> int:
    """Write a session as a FHIR bundle.

    Raises:
        ScreenError: It cannot be written where it should.
    """
    text = write_bundle(protocol, session, assessment)
    return _put(text, arguments, tell, [arguments.file], "the bundle")


def table(arguments: argparse.Namespace, tell: Tell, protocol_of: ProtocolOf) -> int:
    """Write the table of a folder; a file that cannot be used is told, and the rest is written.

    Returns:
        0, or 3 where a file was left out.

    Raises:
        NotFoundError: There is no such folder, or no session in it.
        ScreenError: It cannot be read, or the table cannot be written where it should.
    """
    problems: list[str] = []
    files = _files_of(arguments.folder)
    screens = sorted(
        _screens(files, protocol_of, problems),
        key=lambda screen: (screen[1].started, screen[1].id),
    )
    for problem in problems:
        tell(problem)
    if not screens and not problems:
        raise NotFoundError(f"There is no session in {arguments.folder}.")
    rows: list[Row] = []
    for protocol, session in screens:
        rows += session_rows(protocol, session, assess(protocol, session))
    _put(write_table(rows), arguments, tell, files, "the table")
    return FileRefusedError.exit_code if problems else 0


def _screens(
    files: Sequence[Path], protocol_of: ProtocolOf, problems: list[str]
) -> Iterator[tuple[Protocol, Session]]:
    """Each session with its protocol; what cannot be used is added to the problems."""
    known: dict[str, Protocol] = {}
    first_of: dict[str, Path] = {}
    for path in files:
        try:
            document = read_toml(path)
            session = session_in(document)
            if session.id in first_of:
                reason = f"is the session that {first_of[session.id].name} holds too; counted once"
                raise FileRefusedError((document.problem(("id",), reason),))
            first_of[session.id] = path
            if session.protocol not in known:
                known[session.protocol] = protocol_of(session.protocol)
            check_against(session, known[session.protocol], document)
            yield known[session.protocol], session
        except FileRefusedError as refusal:
            problems += [str(problem) for problem in refusal.problems]
        except ScreenError as error:
            problems.append(str(Problem(path, None, "", str(error))))


def _files_of(folder: Path) -> list[Path]:
    """The files of a folder that may be sessions, by name.

    Raises:
        NotFoundError: There is no such folder.
        FileRefusedError: It cannot be read.
    """
    try:
        paths = sorted(folder.iterdir())
    except (FileNotFoundError, NotADirectoryError):
        raise NotFoundError(f"There is no folder {folder}.") from None
    except OSError as error:
        reason = f"the folder cannot be read: {error.strerror}"
        raise FileRefusedError((Problem(folder, None, "", reason),)) from None
    return [
        path
        for path in paths
        if path.suffix == ".toml" and not path.name.startswith(".") and not is_draft(path)
    ]


def _put(
    text: str,
    arguments: argparse.Namespace,
    tell: Tell,
    sources: Sequence[str | Path],
    what: str,
) -> int:
    """Write to standard output, or to the file that was named."""
    content = text.encode()
    if arguments.output == STANDARD:
        write_out(content)
        return 0
    target = Path(arguments.output)
    refuse_to_replace(target, sources, force=arguments.force, what=what)
    write_file(target, content, replace=arguments.force, what=what)
    tell(f"screen-tui: {what} is in {target}.")
    return 0
