"""With what the program opens: whose protocols, and which preferences hold."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from screen_tui.errors import FileRefusedError, ScreenError
from screen_tui.preferences import Preferred, folders_in_use, preferences_told
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import Protocol
from screen_tui.protocol.raw import files_of
from screen_tui.session.stale_files import remove_leftovers
from screen_tui.session.store import SessionStore


@dataclass(frozen=True, slots=True)
class Opened:
    """What the program works with once it is open.

    Attributes:
        protocol: What is tested.
        store: Where sessions are saved.
        preferred: What the person prefers.
        demo_folder: The invented sessions; None when there are none.
    """

    protocol: Protocol
    store: SessionStore
    preferred: Preferred
    demo_folder: Path | None = None


def open_on(
    ours: Path,
    preferences: Path,
    asked: Sequence[Path],
    sessions: Path,
    demos: Path | None,
    tell: Callable[[str], None],
) -> Opened:
    """Read what the program opens with, and clear away what killed programs left.

    Args:
        ours: The folder of protocols that comes with the program.
        preferences: The file of preferences.
        asked: The folders of protocols named on the command line.
        sessions: The folder of sessions.
        demos: The invented sessions; None when there are none.
        tell: Told what cannot be used, where the program opens all the same.

    Raises:
        ScreenError: The protocols cannot be used.
    """
    wished = preferences_told(preferences, tell)
    protocol, opened = protocol_to_open(ours, wished, asked)
    for problem in opened.problems[len(wished.problems) :]:
        tell(problem)
    remove_leftovers(sessions)
    return Opened(protocol, SessionStore(sessions), opened, demos)


def protocol_to_open(
    ours: Path, wished: Preferred, asked: Sequence[Path]
) -> tuple[Protocol, Preferred]:
    """The protocol to open with; preferences that cannot be followed keep nobody from working.

    Args:
        ours: The folder that comes with the program.
        wished: What the person prefers.
        asked: The folders named on the command line.

    Returns:
        The protocol, and the preferences with the ids of the batteries there are. Where what they
        name cannot be used, the protocol is the usual one and a further problem says why.

    Raises:
        ScreenError: The protocols cannot be used without the preferences either.
    """
    try:
        return _opened(ours, wished, asked)
    except ScreenError as error:
        with contextlib.suppress(ScreenError):
            protocol, _ = _opened(ours, Preferred(wished.path), asked)
            told = error.problems if isinstance(error, FileRefusedError) else (error,)
            problems = (
                f"{wished.path}: the protocols named there cannot be used, so the program opens "
                "with its own.",
                *(str(one) for one in told),
            )
            return protocol, replace(wished, problems=(*wished.problems, *problems))
        raise


def _opened(ours: Path, wished: Preferred, asked: Sequence[Path]) -> tuple[Protocol, Preferred]:
    folders = folders_in_use(ours, wished, asked)
    protocol = load_protocol(folders, wished.now.protocol)
    files = [file for folder in folders for file in files_of(folder)]
    batteries = {file.path.stem for file in files if file.kind == "battery"}
    return protocol, replace(wished, batteries=tuple(sorted(batteries)))
