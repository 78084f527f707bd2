"""The folder that is saved in, which may vanish while the program is open."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from screen_tui.session.model import new_session_id


class KnownFolder:
    """Remembers the disk a folder lay on.

    A folder that was removed is made again where it was. One that is gone together with its disk,
    such as a stick that was taken out, is not: it would come to be on another disk, where nobody
    looks for it and where patient data may not be meant to lie.

    Attributes:
        made_again: Whether it was gone and had to be made again; set back by whoever tells it.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.made_again = False
        self._disk: int | None = None

    def see(self) -> None:
        """Note the disk it lies on, where it can be found."""
        with contextlib.suppress(OSError):
            self._disk = self.path.stat().st_dev

    def make(self) -> None:
        """Make it where it is missing, for its owner alone.

        Raises:
            OSError: It cannot be made; with ``ENODEV`` when it is gone with its disk.
        """
        if not self.path.exists():
            if self._disk is not None and self._disk != _disk_around(self.path):
                raise OSError(errno.ENODEV, os.strerror(errno.ENODEV), str(self.path))
            self.path.mkdir(mode=0o700, parents=True, exist_ok=True)
            self.made_again = self.made_again or self._disk is not None
        elif not self.path.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(self.path))
        self.see()


def free_id(
    now: datetime, file_of: Callable[[str], Path], random_hex: Callable[[], str] | None
) -> str:
    """An id no file of a folder bears, whatever the clock showed when they were begun.

    Args:
        now: The start of what is to be saved.
        file_of: The file of an id.
        random_hex: Gives four hexadecimal digits; random ones when None.
    """
    draw = random_hex or (lambda: secrets.token_hex(2))
    while True:
        found = new_session_id(now, draw())
        if not os.path.lexists(file_of(found)):
            return found


def _disk_around(path: Path) -> int | None:
    """The disk of the nearest folder around that is there."""
    for around in path.absolute().parents:
        with contextlib.suppress(OSError):
            return around.stat().st_dev
    return None
