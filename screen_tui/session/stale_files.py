"""What a killed program leaves in the folder of sessions, and when it may go."""

from __future__ import annotations

import contextlib
import re
import stat
from pathlib import Path

from screen_tui.files.lock import is_held

SUPERSEDED_AFTER_S = 60.0
"""A write takes well under a second; one that is a minute older than the file is not under way."""

_LOCK = re.compile(r"\.[0-9a-z][0-9a-z-]{0,63}\.lock")
_TEMPORARY = re.compile(r"\.(?P<stem>.+)-[a-z0-9_]{8}\.tmp")


def remove_leftovers(folder: Path) -> None:
    """Remove temporary files of saves that were cut short and have since been made good.

    A temporary file goes only when the file it was to become was written a minute or more after
    it. Without such a file, or with an older one, it may hold the last thing that was entered, and
    stays. What cannot be looked at or removed stays, too. The file of a lock goes when nobody holds
    the lock; it would not keep anybody out.
    """
    with contextlib.suppress(OSError):
        for path in sorted(folder.iterdir()):
            if _LOCK.fullmatch(path.name):
                is_held(path)  # which removes it when it is not
            named = _TEMPORARY.fullmatch(path.name)
            if named:
                with contextlib.suppress(OSError):
                    if _is_superseded(path, folder / f"{named['stem']}.toml"):
                        path.unlink()


def _is_superseded(temporary: Path, target: Path) -> bool:
    left, saved = temporary.lstat(), target.lstat()
    ordinary = stat.S_ISREG(left.st_mode) and stat.S_ISREG(saved.st_mode)
    return ordinary and saved.st_mtime - left.st_mtime >= SUPERSEDED_AFTER_S
