"""``table``: the results of a folder of sessions as one table."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from screen_tui.cli.arguments import a_path, writes_file
from screen_tui.cli.deidentify import takes_deidentify
from screen_tui.cli.input import protocol_loader
from screen_tui.cli.output import put
from screen_tui.engine.assess import assess
from screen_tui.errors import FileRefusedError, NotFoundError, Problem, ScreenError
from screen_tui.files.text import tell
from screen_tui.files.toml import read_toml, toml_files
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.deidentify import deidentified
from screen_tui.report.table import Row, session_rows, write_table
from screen_tui.session.file import check_against, session_in
from screen_tui.session.folder import is_draft
from screen_tui.session.model import Session, label_key
from screen_tui.trial.record import offered_words


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    command.add_argument("folder", type=a_path, metavar="DIR", help="a folder of session files")
    command.add_argument(
        "--csv", action="store_true", required=True, help="as comma-separated values"
    )
    takes_deidentify(command)
    writes_file(command)


def run(arguments: argparse.Namespace) -> int:
    """Write the table; a file that cannot be used is named, and the rest is written.

    Returns:
        0, or 3 where a file was left out.

    Raises:
        NotFoundError: There is no such folder, or no session in it.
        ScreenError: It cannot be read, or the table cannot be written where it should.
    """
    load = protocol_loader(arguments)
    problems: list[str] = []
    if not arguments.folder.is_dir():
        raise NotFoundError(f"There is no folder {arguments.folder}.")
    files = [one for one in toml_files(arguments.folder, "the folder") if not is_draft(one)]
    screens = sorted(
        _screens(files, load, problems), key=lambda screen: (screen[1].started, screen[1].id)
    )
    for problem in problems:
        tell(problem)
    if not screens and not problems:
        raise NotFoundError(f"There is no session in {arguments.folder}.")
    rows: list[Row] = []
    codes: dict[str, str] = {}
    for number, (protocol, session) in enumerate(screens, start=1):
        if not arguments.deidentify:
            rows += session_rows(protocol, session, assess(protocol, session))
            continue
        view = deidentified(session, session.started, offered_words(protocol))
        found = view.assessed(protocol)
        code = codes.setdefault(label_key(session.client.label), f"patient-{len(codes) + 1}")
        rows += session_rows(protocol, view.to_show(f"session-{number}", code), found)
    if arguments.deidentify:
        tell(
            "screen-tui: patients and sessions are numbered in the order of the first session; "
            "days are years, own words are left out, and an age of 90 means 90 or more."
        )
    put(write_table(rows).encode(), arguments, "the table", files)
    return FileRefusedError.exit_code if problems else 0


def _screens(
    files: Sequence[Path], load: Callable[[str], ScreenProtocol], problems: list[str]
) -> Iterator[tuple[ScreenProtocol, Session]]:
    """Each session with its protocol; what cannot be used is added to the problems."""
    known: dict[str, ScreenProtocol] = {}
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
                known[session.protocol] = load(session.protocol)
            check_against(session, known[session.protocol], document)
            yield known[session.protocol], session
        except FileRefusedError as refusal:
            problems += [str(problem) for problem in refusal.problems]
        except ScreenError as error:
            problems.append(str(Problem(path, None, "", str(error))))
