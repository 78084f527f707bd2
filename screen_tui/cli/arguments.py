"""Arguments that several commands take."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import NoReturn

from screen_tui.errors import USAGE
from screen_tui.files.text import tell

STANDARD = "-"
"""Names standard input or output where a file is asked for."""


class Parser(argparse.ArgumentParser):
    """A parser whose refusals quote the command line without obeying it."""

    def error(self, message: str) -> NoReturn:
        self.print_usage(sys.stderr)
        tell(f"{self.prog}: {message}")
        sys.exit(USAGE)


def a_name(given: str) -> str:
    """The name of something, which is never empty.

    A variable that was never set would otherwise name standard output, or the present folder.

    Raises:
        argparse.ArgumentTypeError: It is empty.
    """
    if not given:
        raise argparse.ArgumentTypeError("a name is needed, and this one is empty")
    return given


def a_path(given: str) -> Path:
    """The same as a path.

    Raises:
        argparse.ArgumentTypeError: It is empty.
    """
    return Path(a_name(given))


def takes_session(command: argparse.ArgumentParser) -> None:
    """Have a command take a session file."""
    command.add_argument(
        "file", type=a_name, metavar="FILE", help="a session file, or - for standard input"
    )


def writes_json(command: argparse.ArgumentParser, what: str = "the same") -> None:
    """Have a command write JSON where it is asked to."""
    command.add_argument("--json", action="store_true", help=f"{what}, for another program")


def writes_file(command: argparse.ArgumentParser) -> None:
    """Have a command write to a file that may be named."""
    command.add_argument(
        "-o",
        "--output",
        type=a_name,
        default=STANDARD,
        metavar="OUT",
        help="a new file, or - (standard output)",
    )
    command.add_argument("--force", action="store_true", help="replace OUT where it exists")
