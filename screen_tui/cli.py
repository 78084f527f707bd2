"""The command line: who does what is asked, and how every end of it is told.

Data goes to standard output and messages to standard error. What may be asked stands in
`screen_tui.arguments`, which is imported only when something is; what a command does stands in
`screen_tui.commands`, imported only when one is given, so that ``--help`` and ``--version`` answer
at once.
"""

from __future__ import annotations

import contextlib
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from pathlib import Path

from screen_tui.errors import FAILED, INTERRUPTED, USAGE, FileRefusedError, ScreenError
from screen_tui.messages import tell


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and give its exit code.

    Args:
        argv: The arguments without the program's name; those of the process when left out.

    Raises:
        SystemExit: After ``--help`` or ``--version``, and with 2 for a line that makes no sense.
    """
    _make_output_steady()
    given = sys.argv[1:] if argv is None else argv
    asked = _understood(given)
    if sys.stdout is None:
        tell("screen-tui: standard output is closed, so there is nowhere to write to.")
        return FAILED
    try:
        code = asked()
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


def _understood(given: Sequence[str]) -> Callable[[], int]:
    """What the arguments ask for; without any, nothing is imported to understand them."""
    if not given:
        return _open
    from screen_tui.arguments import parse

    arguments = parse(given)
    if arguments.command is None:
        return lambda: _open(arguments.protocols, arguments.sessions, demo=arguments.demo)

    def command() -> int:
        from screen_tui import commands

        return commands.run(arguments, tell)

    return command


def _open(
    protocols: Sequence[Path] = (), sessions: Path | None = None, *, demo: bool = False
) -> int:
    """Open the program on the screen, where there is one."""
    if not _in_a_terminal():
        from screen_tui.arguments import print_usage

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
    from screen_tui.launch import open_program

    return open_program(protocols, sessions, tell, demo=demo)


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
