"""Running the program in a terminal; the only door the command line needs."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path

from screen_tui.clock import Clock, SystemClock
from screen_tui.harmless import harmless
from screen_tui.preferences import Preferred
from screen_tui.protocol.whole import Protocol
from screen_tui.resources import preferences_file
from screen_tui.session.store import SessionStore
from screen_tui.tui.app import ScreenApp
from screen_tui.tui.lifecycle import exit_code
from screen_tui.tui.settings import settings_for

_LOCALE = ("LC_ALL", "LC_CTYPE", "LANG")
_NO_TERMINAL = (
    "This terminal cannot move its cursor (TERM=dumb), so the program cannot be shown in it."
)


def run_app(
    protocol: Protocol,
    store: SessionStore,
    clock: Clock | None = None,
    demo_folder: Path | None = None,
    *,
    preferred: Preferred | None = None,
    ascii_only: bool = False,
    environ: Mapping[str, str] | None = None,
) -> int:
    """Run until the person leaves.

    Args:
        protocol: What is tested.
        store: Where sessions are saved.
        clock: The clocks; those of the computer when left out.
        demo_folder: The invented sessions; None when there are none.
        preferred: What the person prefers; what usually holds when left out.
        ascii_only: Draw lines and large signs in ASCII, also where the locale has more.
        environ: The environment variables.

    Returns:
        The exit code: 0 only when the program ended as it should and everything is saved.
    """
    variables = os.environ if environ is None else environ
    if variables.get("TERM") == "dumb":
        sys.stderr.write(f"{_NO_TERMINAL}\n")
        return 1
    wished = preferred or Preferred(preferences_file())
    # The colour mode must be known before the app is constructed.
    settings = settings_for(
        wished.now, variables, ascii_only=ascii_only or not _speaks_utf8(variables)
    )
    app = ScreenApp(
        protocol,
        store,
        clock or SystemClock(),
        demo_folder,
        settings,
        preferred=wished,
        environ=variables,
    )
    app.run()
    if app.crash_sentence:
        sys.stderr.write(f"{harmless(app.crash_sentence)}\n")
    return exit_code(app.return_code)


def _speaks_utf8(variables: Mapping[str, str]) -> bool:
    """Whether the locale names UTF-8; where none is named, terminals of today can be trusted."""
    named = next((value for name in _LOCALE if (value := variables.get(name))), "")
    return not named or "UTF8" in named.upper().replace("-", "")
