"""The command line: who does what is asked, and how every end of it is told.

Data goes to standard output and messages to standard error. What may be asked is in
`arguments`. The screens are imported by the way that opens them and the commands by the
way that runs one, so that neither waits for the other, and ``--help`` for neither.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import signal
import sys
import traceback
from collections.abc import Iterator, Sequence
from pathlib import Path

from screen_tui.cli.arguments import parse, print_usage
from screen_tui.errors import FAILED, INTERRUPTED, USAGE, FileRefusedError, ScreenError
from screen_tui.files.messages import tell


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and give its exit code.

    Args:
        argv: The arguments without the program's name; those of the process when left out.

    Raises:
        SystemExit: After ``--help`` or ``--version``, and with 2 for a line that makes no sense.
    """
    _make_output_steady()
    try:
        arguments = parse(sys.argv[1:] if argv is None else argv)
        if sys.stdout is None:
            tell("screen-tui: standard output is closed, so there is nowhere to write to.")
            return FAILED
        code = _open(arguments) if arguments.command is None else _run(arguments)
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


def _run(arguments: argparse.Namespace) -> int:
    """Do a command."""
    with _ended_at_once():
        from screen_tui.cli import commands

    return commands.run(arguments, tell)


def _open(arguments: argparse.Namespace) -> int:
    """Open the program on the screen, where there is one."""
    if not _in_a_terminal():
        print_usage()
        tell("screen-tui: the program needs a terminal to open in; screen-tui --help lists more.")
        return USAGE
    if os.environ.get("TERM", "") == "dumb":
        tell(
            "screen-tui: this terminal (TERM=dumb) cannot draw a screen. Open the program in "
            "another terminal, or use a command such as screen-tui note FILE."
        )
        return FAILED
    _forget_settings_of_the_framework()
    with _ended_at_once():
        from screen_tui.tui.run import open_program

    return open_program(arguments.protocols, arguments.sessions, demo=arguments.demo)


@contextlib.contextmanager
def _ended_at_once() -> Iterator[None]:
    """Have an interrupt end the program without more ado, while modules are imported.

    Raised in the midst of an import it may be swallowed, or come out as some other error.
    """
    usual = signal.signal(signal.SIGINT, lambda *_: os._exit(INTERRUPTED))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)


def _forget_settings_of_the_framework() -> None:
    """Take what is meant for its developers out of the environment.

    Some would have it write every key into a file, open a connection, or end with a fault.
    """
    for name in [name for name in os.environ if name.startswith("TEXTUAL")]:
        del os.environ[name]


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
