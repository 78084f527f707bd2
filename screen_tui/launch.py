"""Opening the program on the screen.

What is needed for that, and most of the screens, is imported only once the first page stands there.
"""

from __future__ import annotations

import contextlib
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from screen_tui.resources import demo_folder, preferences_file, protocols_folder, sessions_folder
from screen_tui.tui.steady import uncollected

if TYPE_CHECKING:
    from screen_tui.opening import Opened


def open_program(
    protocols: Sequence[Path],
    sessions: Path | None,
    tell: Callable[[str], None],
    *,
    demo: bool = False,
) -> int:
    """Open the program on the screen, until the person leaves; gives the exit code.

    Args:
        protocols: Folders of a clinic's own protocols, read after those of the program.
        sessions: The folder of saved sessions; None for the usual one.
        tell: Writes a message for the person.
        demo: Whether to open on invented sessions.

    Raises:
        ScreenError: The protocols cannot be used.
    """
    with contextlib.ExitStack() as at_the_end:
        at_the_end.enter_context(uncollected())
        from screen_tui.tui.run import run_app

        folder = _sessions_folder(sessions, tell, at_the_end, demo=demo)
        preferences = preferences_file()
        told: list[str] = []
        # While the program has the screen, a line to standard error would be written across it.
        at_the_end.callback(_tell_all, told, tell)

        def load() -> Opened:
            from screen_tui.opening import open_on

            demos = demo_folder() if demo else None
            return open_on(protocols_folder(), preferences, protocols, folder, demos, told.append)

        return run_app(load, preferences)


def _sessions_folder(
    asked: Path | None,
    tell: Callable[[str], None],
    at_the_end: contextlib.ExitStack,
    *,
    demo: bool,
) -> Path:
    """The folder of sessions; for a demonstration one that is thrown away, unless one is named."""
    if not demo:
        return sessions_folder(asked)
    if asked is None:
        throw_away = tempfile.TemporaryDirectory(prefix="screen-tui-demo-")
        folder = Path(at_the_end.enter_context(throw_away))
        tell(
            "screen-tui: a demonstration; what you record in it is thrown away when the "
            "program closes. Add --sessions DIR to keep it."
        )
        return folder
    folder = sessions_folder(asked)
    tell(f"screen-tui: a demonstration; what you record in it is kept in {folder}.")
    return folder


def _tell_all(told: list[str], tell: Callable[[str], None]) -> None:
    for line in told:
        tell(line)
