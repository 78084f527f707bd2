"""With what the program opens: whose protocols, and which preferences hold."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from screen_tui.errors import FileRefusedError, ScreenError
from screen_tui.preferences import Preferred, protocol_folders
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.parts import files_of
from screen_tui.protocol.whole import Protocol


def folders_in_use(ours: Path, wished: Preferred, asked: Sequence[Path]) -> list[Path]:
    """Our own folder first, so that a clinic's may replace what it has; those asked for last."""
    return [ours, *protocol_folders(wished.now, wished.path), *asked]


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
