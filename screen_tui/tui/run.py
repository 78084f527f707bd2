"""Running the program in a terminal; the only door the command line needs."""

from __future__ import annotations

import codecs
import os
import sys
from collections.abc import Callable, Mapping
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from screen_tui.clock import Clock, SystemClock
from screen_tui.messages import tell
from screen_tui.tui.app import ScreenApp
from screen_tui.tui.first_look import first_look
from screen_tui.tui.lifecycle import exit_code
from screen_tui.tui.settings import Settings
from screen_tui.tui.steady import quick_switches, set_aside, step_back
from screen_tui.tui.theme import choose_colour_mode

if TYPE_CHECKING:
    from screen_tui.opening import Opened

_LOCALE = ("LC_ALL", "LC_CTYPE", "LANG")
_NO_TERMINAL = (
    "This terminal cannot move its cursor (TERM=dumb), so the program cannot be shown in it."
)


def run_app(
    load: Callable[[], Opened],
    preferences: Path,
    clock: Clock | None = None,
    *,
    ascii_only: bool = False,
    environ: Mapping[str, str] | None = None,
) -> int:
    """Run until the person leaves.

    Args:
        load: Gives what the program works with; called once its first page is painted.
        preferences: The file of preferences, looked at for the look of that page.
        clock: The clocks; those of the computer when left out.
        ascii_only: Draw lines and large signs in ASCII, also where the locale has more.
        environ: The environment variables.

    Returns:
        The exit code: 0 only when the program ended as it should and everything is saved.

    Raises:
        Exception: Whatever ``load`` raised; the program has left the screen.
    """
    variables = os.environ if environ is None else environ
    if variables.get("TERM") == "dumb":
        sys.stderr.write(f"{_NO_TERMINAL}\n")
        return 1
    theme, layout = first_look(preferences)
    # The colour mode must be known before the app is constructed.
    settings = Settings(
        colour_mode=choose_colour_mode(theme, variables),
        ascii_only=ascii_only or not (_speaks_utf8(variables) and _writes_utf8()),
        layout=layout,
    )

    def load_all() -> Opened:
        opened = load()
        import_module("screen_tui.tui.pages")
        set_aside()
        # By now the thread that reads the keys is there; it keeps its own place.
        step_back()
        return opened

    app = ScreenApp(load_all, clock or SystemClock(), settings, environ=variables)
    with quick_switches():
        app.run()
    if app.refusal is not None:
        raise app.refusal
    if app.crash_sentence:
        tell(app.crash_sentence)
    return exit_code(app.return_code)


def _speaks_utf8(variables: Mapping[str, str]) -> bool:
    """Whether the locale names UTF-8; where none is named, terminals of today can be trusted."""
    named = next((value for name in _LOCALE if (value := variables.get(name))), "")
    return not named or "UTF8" in named.upper().replace("-", "")


def _writes_utf8() -> bool:
    """Whether what is drawn is written as UTF-8; PYTHONIOENCODING may name something else."""
    encoding = getattr(sys.__stdout__, "encoding", None)
    return encoding is None or codecs.lookup(encoding).name == "utf-8"
