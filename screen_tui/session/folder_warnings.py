"""What a person should know about the folder of sessions, though everything in it can be used."""

from __future__ import annotations

import os
import shlex
import stat
from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path

from screen_tui.session.listing import SessionSummary

_OTHERS = stat.S_IRWXG | stat.S_IRWXO
_CLOCKS_DIFFER = timedelta(days=1)
"""By so much two clocks differ only when one of them is wrong; time zones do not count."""


def worth_knowing(
    folder: Path, sessions: Iterable[SessionSummary], now: datetime
) -> tuple[str, ...]:
    """All there is to tell, as sentences."""
    told = (open_to_others(folder), clock_set_back(sessions, now))
    return tuple(sentence for sentence in told if sentence)


def open_to_others(folder: Path) -> str:
    """Say that others may read patient data, and what mends it; empty when they may not.

    Nothing is mended here: the person may have given these permissions on purpose. Windows has no
    such modes; there the folder takes the permissions of the person's profile.
    """
    if os.name != "posix":
        return ""
    try:
        mode = stat.S_IMODE(folder.stat().st_mode)
        files = sum(_is_open(path) for path in folder.iterdir())
    except OSError:
        return ""
    found = []
    if mode & _OTHERS:
        found.append(f"the folder {folder} (mode {mode:03o})")
    if files:
        found.append(f"{files} {'file' if files == 1 else 'files'} in {'it' if found else folder}")
    if not found:
        return ""
    return (
        f"Other accounts of this computer are let into {' and '.join(found)}. This shuts them out: "
        f"chmod -R go= {shlex.quote(str(folder))} (a stick may keep no such permissions)"
    )


def _is_open(path: Path) -> bool:
    try:
        mode = path.lstat().st_mode
    except OSError:
        return False
    return stat.S_ISREG(mode) and bool(mode & _OTHERS)


def clock_set_back(sessions: Iterable[SessionSummary], now: datetime) -> str:
    """Say that a session is later than the clock; empty when none is."""
    moments = [
        moment for one in sessions for moment in (one.started, one.finished) if moment is not None
    ]
    if not moments or max(moments) - now < _CLOCKS_DIFFER:
        return ""
    return (
        f"The clock of this computer shows {now:%Y-%m-%d %H:%M}, but a session here is of "
        f"{max(moments):%Y-%m-%d %H:%M}. If the clock is wrong, set it before a new screen: "
        "sessions are listed by their dates."
    )
