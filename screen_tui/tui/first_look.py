"""The look of the first page, which is painted before the preferences are read in full.

Reading them in full takes the models, and importing those takes longer than all the rest of the
first page. What is wrong in the file is told once it is read.
"""

from __future__ import annotations

import stat
from pathlib import Path
from typing import Any

from screen_tui.preferences_kinds import LAYOUTS, THEME_WISHES, Layout, ThemeWish

_MOST_BYTES = 100_000
"""Far more than a file of preferences has; whatever is larger is left to who reads it in full."""


def first_look(path: Path) -> tuple[ThemeWish, Layout]:
    """The theme and the layout a file of preferences names; what usually holds for all else.

    Args:
        path: The file, which need not exist.
    """
    named = _named(path)
    theme: ThemeWish = next((one for one in THEME_WISHES if one == named.get("theme")), "auto")
    layout: Layout = next((one for one in LAYOUTS if one == named.get("layout")), "auto")
    return theme, layout


def _named(path: Path) -> dict[str, Any]:
    try:
        about = path.stat()
        # Anything but an ordinary file might never end.
        if not stat.S_ISREG(about.st_mode) or about.st_size > _MOST_BYTES:
            return {}
        import tomllib

        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return {}
