"""What may be asked on the command line, and how messages are told there.

What a command does is in `screen_tui.cli.commands`.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import NoReturn

from screen_tui import __version__
from screen_tui.cli.addendum_arguments import add_addendum
from screen_tui.cli.argument_kinds import a_name, a_path, takes_session, writes
from screen_tui.cli.export_arguments import add_exports
from screen_tui.errors import USAGE
from screen_tui.files.messages import tell

_EXIT_CODES = """\
exit codes:
  0    done
  1    it failed; the message says why
  2    the command line makes no sense
  3    a file was refused: broken, not ours, or from a newer program
  4    a file, folder or protocol was not found
  130  stopped with Ctrl-C
"""

_EXAMPLES = """\
examples:
  screen-tui                          open the program
  screen-tui --demo                   open it on invented sessions
  screen-tui note session.toml -o -   print the note of a session
  screen-tui assess session.toml --json
  screen-tui visits K-014             show a client's visits over time

This is not a diagnosis. The judgement of the licensed clinician and local
policy come first.

"""


def parse(given: Sequence[str]) -> argparse.Namespace:
    """What the arguments say; `command` is None where none is given.

    Raises:
        SystemExit: After ``--help`` or ``--version``, and with 2 for a line that makes no sense.
    """
    arguments = _parser().parse_args(given)
    arguments.protocols = [*arguments.protocols, *getattr(arguments, "protocols_after", ())]
    arguments.sessions = getattr(arguments, "sessions_after", None) or arguments.sessions
    return arguments


def print_usage() -> None:
    """Say in short what may be asked, on standard error."""
    _parser().print_usage(sys.stderr)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="screen-tui",
        description="Screen a knee at the chairside: timed tests, weighed findings, a note.",
        epilog=_EXAMPLES + _EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"screen-tui {__version__}")
    parser.add_argument("--demo", action="store_true", help="open on invented sessions")
    _add_folders(parser, protocols="protocols", sessions="sessions")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")

    check = _command(commands, "check", "check files of protocols, sessions and preferences")
    check.add_argument("paths", nargs="+", type=a_path, metavar="PATH", help="a file or folder")
    check.add_argument("--json", action="store_true", help="the same, for another program")

    assess = _command(commands, "assess", "say what a saved session comes to")
    takes_session(assess)
    assess.add_argument("--json", action="store_true", help="everything, for another program")

    explain = _command(commands, "explain", "print every step from trial to verdict")
    takes_session(explain)
    explain.add_argument("--json", action="store_true", help="a step an element, in order")

    note = _command(commands, "note", "write the plain-text note of a saved session")
    takes_session(note)
    writes(note)
    note.add_argument(
        "--deidentify",
        action="store_true",
        help="without label, session id and own words; years for dates, 90+ for an age over 89",
    )

    visits = _command(commands, "visits", "show the visits of a client over time")
    visits.add_argument(
        "label", nargs="?", type=a_name, metavar="LABEL", help="the client's label, any case"
    )
    visits.add_argument("--list", action="store_true", help="list all labels with their visits")
    visits.add_argument("--json", action="store_true", help="the same, for another program")

    change = _command(commands, "change", "compare two sessions of a client test by test")
    change.add_argument("file", type=a_name, metavar="FILE1", help="a session file")
    change.add_argument(
        "file2", type=a_name, metavar="FILE2", help="another one of the same client"
    )
    change.add_argument("--json", action="store_true", help="the same, for another program")

    add_exports(lambda name, does: _command(commands, name, does))
    add_addendum(lambda name, does: _command(commands, name, does))

    protocols = _command(commands, "protocols", "list the tests and where they were found")
    protocols.add_argument("--json", action="store_true", help="the same, for another program")

    paths = _command(commands, "paths", "show the places the program reads from and writes to")
    paths.add_argument("--json", action="store_true", help="the same, for another program")
    return parser


def _command(
    commands: argparse._SubParsersAction[_Parser], name: str, does: str
) -> argparse.ArgumentParser:
    command = commands.add_parser(
        name,
        help=does,
        description=f"{does[0].upper()}{does[1:]}.",
        epilog=_EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    _add_folders(command, protocols="protocols_after", sessions="sessions_after")
    return command


def _add_folders(parser: argparse.ArgumentParser, *, protocols: str, sessions: str) -> None:
    """Take the folders before the command and after it; a subparser must not undo the former."""
    parser.add_argument(
        "--protocols",
        dest=protocols,
        action="append",
        default=[],
        type=a_path,
        metavar="DIR",
        help="a clinic's own protocols on top of ours; may be given again",
    )
    parser.add_argument(
        "--sessions", dest=sessions, type=a_path, metavar="DIR", help="the folder of saved sessions"
    )


class _Parser(argparse.ArgumentParser):
    """A parser whose refusals quote the command line without obeying it."""

    def error(self, message: str) -> NoReturn:
        """Tell what makes no sense, and leave."""
        self.print_usage(sys.stderr)
        tell(f"{self.prog}: {message}")
        self.exit(USAGE)
