"""The folder that is saved in, which may vanish while the program is open."""

from __future__ import annotations

import contextlib
import errno
import os
from pathlib import Path


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


def _disk_around(path: Path) -> int | None:
    """The disk of the nearest folder around that is there."""
    for around in path.absolute().parents:
        with contextlib.suppress(OSError):
            return around.stat().st_dev
    return None
