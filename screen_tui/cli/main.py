"""The command line: what may be asked, who does it, and what is said at every end of it.

Data goes to standard output and messages to standard error. A command is the module of its name,
with ``add_arguments`` and ``run``. It is imported when it is asked for, and so are the screens, so
that neither waits for the other, and ``--help`` for none.
"""

from __future__ import annotations

import argparse
import atexit
import contextlib
import gc
import importlib
import os
import signal
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from screen_tui import __version__
from screen_tui.cli.arguments import Parser, a_path
from screen_tui.errors import FAILED, INTERRUPTED, USAGE, FileRefusedError, ScreenError
from screen_tui.files.text import tell

COMMANDS = {
    "check": "check files of protocols, sessions and preferences",
    "assess": "give the answer of a saved session",
    "explain": "print every step from trial to answer",
    "note": "write the plain-text note of a saved session",
    "visits": "show the visits of a patient over time",
    "change": "compare two sessions of a patient test by test",
    "sheet": "write the sheet a patient takes home",
    "table": "write the results of a folder of sessions as one table",
    "export": "write a session in an open standard",
    "addendum": "add a correction or a comment to a finished session",
    "practice": "draw simulated patients, assign them, and collect what a class hands in",
    "protocols": "list the tests and the file of each",
    "paths": "show the places the program reads from and writes to",
    "help": "print a guide on a topic, or the topics",
}

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
  screen-tui visits K-014             show a patient's visits over time

This is not a diagnosis. The judgement of the licensed clinician and local
policy come first.

"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and give its exit code.

    Args:
        argv: The arguments without the program's name; those of the process when left out.

    Raises:
        SystemExit: After ``--help``, and with 2 for a line that makes no sense.
    """
    _make_output_steady()
    try:
        parser = _parser()
        arguments = parser.parse_args(sys.argv[1:] if argv is None else argv)
        arguments.protocols = [*arguments.protocols, *getattr(arguments, "protocols_after", ())]
        arguments.sessions = getattr(arguments, "sessions_after", None) or arguments.sessions
        if sys.stdout is None:
            tell("screen-tui: standard output is closed, so there is nowhere to write to.")
            return FAILED
        if arguments.notices and not arguments.version:
            parser.error("--notices goes with --version: screen-tui --version --notices")
        if arguments.version:
            code = _print_version(notices=arguments.notices)
        elif arguments.command is None:
            code = _open(arguments, parser)
        else:
            # As a process ends, Python looks through all objects for circles of them. That takes a
            # fifteenth of the time of a command, and all there is goes with the process.
            atexit.register(gc.freeze)
            code = arguments.run(arguments)
        sys.stdout.flush()
        return code
    except FileRefusedError as refusal:
        for problem in refusal.problems:
            tell(str(problem))
        return refusal.exit_code
    except ScreenError as error:
        tell(f"screen-tui: {error}")
        return error.exit_code
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader, such as head, has what it wanted.
        _silence_output()
        return FAILED
    except OSError as error:
        where = f" ({error.filename})" if isinstance(error.filename, str) else ""
        tell(f"screen-tui: the system refused: {error.strerror or type(error).__name__}{where}.")
        _silence_output()
        return FAILED
    except Exception as error:
        tell(_fault(error))
        return FAILED


def _print_version(*, notices: bool) -> int:
    sys.stdout.write(f"screen-tui {__version__}\n")
    if notices:
        sys.stdout.write(f"\n{_module('screen_tui.cli.notices').notices()}\n")
    return 0


def _open(arguments: argparse.Namespace, parser: argparse.ArgumentParser) -> int:
    if not _in_a_terminal():
        parser.print_usage(sys.stderr)
        tell("screen-tui: the program needs a terminal to open in; screen-tui --help lists more.")
        return USAGE
    if os.environ.get("TERM", "") == "dumb":
        tell(
            "screen-tui: this terminal (TERM=dumb) cannot show the pages. Open the program in "
            "another terminal, or use a command such as screen-tui note FILE."
        )
        return FAILED
    # The framework's settings for its developers: some would have it write every key into a file,
    # open a connection, or end with a fault.
    for name in [name for name in os.environ if name.startswith("TEXTUAL")]:
        del os.environ[name]
    screens = _module("screen_tui.tui.run")
    code: int = screens.open_program(arguments.protocols, arguments.sessions, demo=arguments.demo)
    return code


def _module(name: str) -> Any:
    """Import a module; an interrupt meanwhile ends the program without more ado.

    Raised in the midst of an import it may be swallowed, or come out as some other error.
    """
    usual = signal.signal(signal.SIGINT, lambda *_: os._exit(INTERRUPTED))
    try:
        return importlib.import_module(name)
    finally:
        signal.signal(signal.SIGINT, usual)


class _CommandParser(Parser):
    """The parser of one command, which imports the command when it is first asked to parse."""

    command = ""

    def parse_known_args(self, *given: Any, **named: Any) -> Any:
        module = _module(f"screen_tui.cli.{self.command}")
        module.add_arguments(self)
        self.set_defaults(run=module.run)
        return super().parse_known_args(*given, **named)


def _parser() -> Parser:
    parser = Parser(
        prog="screen-tui",
        description="Chairside knee tests: timed, judged against cut-offs, with a note.",
        epilog=_EXAMPLES + _EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="store_true", help="print the version")
    parser.add_argument(
        "--notices", action="store_true", help="with --version: the notices of LOINC, UCUM and HL7"
    )
    parser.add_argument("--demo", action="store_true", help="open on invented sessions")
    _add_folders(parser)
    commands = parser.add_subparsers(
        dest="command", metavar="COMMAND", title="commands", parser_class=_CommandParser
    )
    for name, does in COMMANDS.items():
        command = commands.add_parser(
            name,
            help=does,
            description=f"{does[0].upper()}{does[1:]}.",
            epilog=_EXIT_CODES,
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        command.command = name
        _add_folders(command, "_after")
    return parser


def _add_folders(parser: argparse.ArgumentParser, suffix: str = "") -> None:
    """Take the folders before the command and after it; a subparser must not undo the former."""
    parser.add_argument(
        "--protocols",
        dest=f"protocols{suffix}",
        action="append",
        default=[],
        type=a_path,
        metavar="DIR",
        help="a clinic's own protocols on top of ours; may be given again",
    )
    parser.add_argument(
        "--sessions",
        dest=f"sessions{suffix}",
        type=a_path,
        metavar="DIR",
        help="the folder of saved sessions",
    )


def _in_a_terminal() -> bool:
    return all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout))


def _make_output_steady() -> None:
    """End lines with a line feed everywhere, and write a letter the encoding lacks as an escape."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace", newline="\n")


def _silence_output() -> None:
    """Keep the interpreter from trying the output again, with a traceback, as it leaves."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _fault(error: Exception) -> str:
    """Say where the program failed; an error's own words may quote what a patient said."""
    frame = traceback.extract_tb(error.__traceback__)[-1]
    place = f"{Path(frame.filename).name}, line {frame.lineno}"
    return (
        f"screen-tui: the program has a mistake of its own ({type(error).__name__} in {place}). "
        "Please report this line."
    )
