"""``python -m screen_tui`` and the installed command."""

from __future__ import annotations

import sys

from screen_tui.cli import main

__all__ = ["main"]

if __name__ == "__main__":
    sys.exit(main())
