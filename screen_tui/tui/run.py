"""Opening the program on the screen: what it works with is read first, then Start takes keys."""

from __future__ import annotations

import codecs
import contextlib
import gc
import os
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from screen_tui.files.places import demo_folder, preferences_file, protocols_folder, sessions_folder
from screen_tui.files.text import tell
from screen_tui.preferences import Opened, preferences_told, protocol_to_open
from screen_tui.session.folder import remove_stale_files
from screen_tui.session.store import SessionStore
from screen_tui.timing.clock import Clock, SystemClock
from screen_tui.tui.app import ScreenApp
from screen_tui.tui.lifecycle import exit_code
from screen_tui.tui.settings import settings_for

_LOCALE = ("LC_ALL", "LC_CTYPE", "LANG")


def open_program(protocols: Sequence[Path], sessions: Path | None, *, demo: bool = False) -> int:
    """Open the program on the screen, until the person leaves; gives the exit code.

    Folders of a clinic's own protocols are read after those of the program; without a folder of
    sessions it is the usual one. A demonstration opens on invented sessions.

    Raises:
        ScreenError: The protocols cannot be used.
    """
    with contextlib.ExitStack() as at_the_end:
        folder = _sessions_folder(sessions, at_the_end, demo=demo)
        remarks: list[str] = []
        # A line that was written before is gone with the screen in some terminals.
        at_the_end.callback(_tell_all, remarks)
        demos = demo_folder() if demo else None
        wished = preferences_told(preferences_file(), remarks.append)
        protocol, preferred = protocol_to_open(protocols_folder(), wished, protocols)
        remarks += preferred.problems[len(wished.problems) :]
        remove_stale_files(folder)
        return run_app(Opened(protocol, SessionStore(folder), preferred, demos))


def run_app(
    opened: Opened, clock: Clock | None = None, *, environ: Mapping[str, str] | None = None
) -> int:
    """Run until the person leaves, with the computer's clocks and environment when left out.

    The exit code is 0 only when the program ended as it should and everything is saved.
    """
    variables = os.environ if environ is None else environ
    # The colour mode must be known before the app is constructed.
    letters = _speaks_utf8(variables) and _writes_utf8()
    settings = settings_for(opened.preferred.now, variables, ascii_only=not letters)
    app = ScreenApp(opened, clock or SystemClock(), settings, environ=variables)
    # What is loaded by now stays. Looking through it all would hold up whoever reads the keys.
    gc.freeze()
    app.run()
    if app.crash_sentence:
        tell(app.crash_sentence)
    return exit_code(app.return_code)


def _sessions_folder(asked: Path | None, at_the_end: contextlib.ExitStack, *, demo: bool) -> Path:
    """The folder of sessions; for a demonstration one that is thrown away, unless one is named."""
    if demo and asked is None:
        throw_away = tempfile.TemporaryDirectory(prefix="screen-tui-demo-")
        tell(
            "screen-tui: a demonstration; what you record in it is thrown away when the "
            "program closes. Add --sessions DIR to save it."
        )
        return Path(at_the_end.enter_context(throw_away))
    folder = sessions_folder(asked)
    if demo:
        tell(f"screen-tui: a demonstration; what you record in it is saved in {folder}.")
    return folder


def _tell_all(remarks: list[str]) -> None:
    for line in remarks:
        tell(line)


def _speaks_utf8(variables: Mapping[str, str]) -> bool:
    """Whether the locale names UTF-8; where none is named, terminals of today can be trusted."""
    named = next((value for name in _LOCALE if (value := variables.get(name))), "")
    return not named or "UTF8" in named.upper().replace("-", "")


def _writes_utf8() -> bool:
    """Whether what is drawn is written as UTF-8; PYTHONIOENCODING may name something else."""
    encoding = getattr(sys.__stdout__, "encoding", None)
    return encoding is None or codecs.lookup(encoding).name == "utf-8"
