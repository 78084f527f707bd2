"""Messages to the person at the command line."""

from __future__ import annotations

import contextlib
import sys

from screen_tui.files.text import harmless


def tell(message: str) -> None:
    """Write one line to standard error; a name in it may hold anything, and steers no terminal."""
    if sys.stderr is not None:
        with contextlib.suppress(OSError):
            sys.stderr.write(f"{harmless(message)}\n")
