"""Opening the program on the screen.

What is needed for that, and most of the screens, is imported only once the first page stands there.
"""

from __future__ import annotations

import argparse
import contextlib
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from screen_tui.resources import demo_folder, preferences_file, protocols_folder, sessions_folder
from screen_tui.tui.steady import uncollected

if TYPE_CHECKING:
    from screen_tui.opening import Opened


def open_program(arguments: argparse.Namespace, tell: Callable[[str], None]) -> int:
    """Open the program on the screen; with ``--demo`` on invented sessions.

    Raises:
        ScreenError: The protocols cannot be used.
    """
    with contextlib.ExitStack() as at_the_end:
        at_the_end.enter_context(uncollected())
        from screen_tui.tui.run import run_app

        sessions = _sessions(arguments, tell, at_the_end)
        preferences = preferences_file()
        told: list[str] = []
        # While the program has the screen, a line to standard error would be written across it.
        at_the_end.callback(_tell_all, told, tell)

        def load() -> Opened:
            from screen_tui.opening import open_on

            demos = demo_folder() if arguments.demo else None
            return open_on(
                protocols_folder(), preferences, arguments.protocols, sessions, demos, told.append
            )

        return run_app(load, preferences)


def _sessions(
    arguments: argparse.Namespace, tell: Callable[[str], None], at_the_end: contextlib.ExitStack
) -> Path:
    """The folder of sessions; for a demonstration one that is thrown away, unless one is named."""
    if not arguments.demo:
        return sessions_folder(arguments.sessions)
    if arguments.sessions is None:
        throw_away = tempfile.TemporaryDirectory(prefix="screen-tui-demo-")
        folder = Path(at_the_end.enter_context(throw_away))
        tell(
            "screen-tui: a demonstration; what you record in it is thrown away when the "
            "program closes. Add --sessions DIR to keep it."
        )
        return folder
    folder = sessions_folder(arguments.sessions)
    tell(f"screen-tui: a demonstration; what you record in it is kept in {folder}.")
    return folder


def _tell_all(told: list[str], tell: Callable[[str], None]) -> None:
    for line in told:
        tell(line)
