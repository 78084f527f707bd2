"""Leaving in good order: signals, a terminal that is gone, crashes, and exit codes.

Left alone, the program would die on SIGTERM and SIGHUP without running anything, and where a
parent shell ignores SIGHUP it would live on without a terminal and burn a processor. The session is
on disk after every change; what is saved here is a change that could not be saved before, and the
trial under way, struck out.
"""

from __future__ import annotations

import asyncio
import os
import signal
import traceback
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Final

from screen_tui.errors import INTERRUPTED

ORPHAN_CHECK_S: Final = 2.0
EXIT_OK: Final = 0
EXIT_FAILED: Final = 1

_EXIT_CODES: Final = {"SIGTERM": EXIT_OK, "SIGHUP": EXIT_OK, "SIGINT": INTERRUPTED}


def leave_on_signals(loop: asyncio.AbstractEventLoop, leave: Callable[[int], object]) -> None:
    """Call ``leave`` in the loop when the program is asked to end, on systems that have signals.

    It is given the exit code that the signal asks for where everything is saved. Once the loop is
    closed, the signals act as usual again.
    """
    for name, code in _EXIT_CODES.items():
        with suppress(AttributeError, NotImplementedError, ValueError, RuntimeError):
            loop.add_signal_handler(getattr(signal, name), leave, code)


class TerminalWatch:
    """Says when the terminal the program was started in, which answered then, is gone."""

    def __init__(self, answers: Callable[[], bool] | None = None) -> None:
        self._answers = answers or _controlling_terminal_answers
        self._had_one = self._answers()

    def orphaned(self) -> bool:
        return self._had_one and not self._answers()


def _controlling_terminal_answers() -> bool:
    try:
        handle = os.open("/dev/tty", os.O_RDWR | getattr(os, "O_NOCTTY", 0))
    except OSError:
        return False
    try:
        return os.isatty(handle)
    finally:
        os.close(handle)


def write_crash_report(folder: Path, error: BaseException, now: datetime) -> Path | None:
    """Write where the program failed, without the values it was working on.

    Messages of errors can quote what a person typed, so only their kind is written.

    Returns:
        The file, or None when the disk refused it.
    """
    parts: list[str] = []
    seen: BaseException | None = error
    while seen is not None:
        parts.append(f"{type(seen).__module__}.{type(seen).__qualname__}\n")
        parts.extend(
            f"  {frame.filename}:{frame.lineno} in {frame.name}\n"
            for frame in traceback.extract_tb(seen.__traceback__)
        )
        seen = seen.__cause__ or seen.__context__
    path = folder / f"crash-{now:%Y-%m-%d-%H%M%S}.txt"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.writelines(parts)
    except OSError:
        return None
    return path


def crash_sentence(report: Path | None, *, session_saved: bool) -> str:
    """The one line shown in the terminal after a crash; it quotes nothing of the session."""
    where = f"a report without patient data is in {report}" if report else "no report was written"
    saved = "Every change to the session had been saved"
    if not session_saved:
        saved = "The last change to the session had NOT been saved"
    return f"The program failed and closed itself; {where}. {saved}."


def exit_code(return_code: int | None) -> int:
    """Only a plain 0 is success; a program whose input broke off reports None."""
    return EXIT_OK if return_code == 0 else (return_code or EXIT_FAILED)
