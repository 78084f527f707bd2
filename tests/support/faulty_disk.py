"""A disk that refuses one step of writing a file, as the operating system would report it."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import Any, Literal

import pytest

from screen_tui.files import write as safewrite

Step = Literal["make folder", "create", "write", "flush", "sync", "replace", "sync folder"]

STEPS: tuple[Step, ...] = ("create", "write", "flush", "sync", "replace", "sync folder")
"""The steps of a save, in order; before the last two the earlier file is still in place."""

REFUSALS = {
    errno.ENOSPC: "the disk is full. Make room on it and save again.",
    errno.EIO: "the disk reports a fault. Save again, or save in another folder on another disk.",
    errno.EROFS: "you may not write there. Save again in another folder.",
}
"""What a person is told of each."""


class Killed(BaseException):
    """The program ended here, and cleaned nothing up."""


class FaultyDisk:
    """Stands between the program and the disk; see `fail` and `kill`."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self._at: str = ""
        self._error: BaseException | None = None
        self._dead = False
        really_make, really_unlink, really_replace = Path.mkdir, Path.unlink, Path.replace
        really_sync, really_open, really_create = os.fsync, os.fdopen, safewrite.tempfile.mkstemp

        def mkdir(path: Path, *args: Any, **more: Any) -> None:
            self.reach("make folder")
            really_make(path, *args, **more)

        def create(*args: Any, **more: Any) -> Any:
            self.reach("create")
            return really_create(*args, **more)

        def fdopen(descriptor: int, mode: str = "r", *args: Any, **more: Any) -> Any:
            file = really_open(descriptor, mode, *args, **more)
            return _Torn(self, file) if mode == "wb" else file

        def sync(descriptor: int) -> None:
            folder = stat.S_ISDIR(os.fstat(descriptor).st_mode)
            self.reach("sync folder" if folder else "sync")
            really_sync(descriptor)

        def replace(path: Path, target: Path) -> Path:
            self.reach("replace")
            return really_replace(path, target)

        def unlink(path: Path, *args: Any, **more: Any) -> None:
            if self._dead:
                raise Killed
            really_unlink(path, *args, **more)

        patch.setattr(Path, "mkdir", mkdir)
        patch.setattr(safewrite.tempfile, "mkstemp", create)
        patch.setattr(os, "fdopen", fdopen)
        patch.setattr(os, "fsync", sync)
        patch.setattr(Path, "replace", replace)
        patch.setattr(Path, "unlink", unlink)

    @classmethod
    @contextlib.contextmanager
    def inserted(cls) -> Iterator[FaultyDisk]:
        """Be there for a while."""
        with pytest.MonkeyPatch.context() as patch:
            yield cls(patch)

    def fail(self, step: str, code: int) -> None:
        """Refuse a step with an error number from now on."""
        self._at, self._error = step, OSError(code, os.strerror(code))

    def kill(self, step: str) -> None:
        """End the program at a step."""
        self._at, self._error = step, Killed()

    def heal(self) -> None:
        """Refuse nothing any more."""
        self._at, self._error, self._dead = "", None, False

    def reach(self, step: str) -> None:
        """Be told that a step is about to be done."""
        if step == self._at and self._error is not None:
            self._dead = isinstance(self._error, Killed)
            raise self._error


class _Torn:
    """A file being written that can break off half-way, or when its buffer is emptied."""

    def __init__(self, disk: FaultyDisk, file: Any) -> None:
        self._disk = disk
        self._file = file

    def __enter__(self) -> _Torn:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._file.close()
        self._disk.reach("flush")  # closing empties the buffer once more

    def write(self, content: bytes) -> int:
        self._file.write(content[: len(content) // 2])
        self._disk.reach("write")
        return int(self._file.write(content[len(content) // 2 :]))

    def flush(self) -> None:
        self._disk.reach("flush")
        self._file.flush()

    def fileno(self) -> int:
        return int(self._file.fileno())
