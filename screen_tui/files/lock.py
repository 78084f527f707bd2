"""One writer per session: a lock of the operating system on a small file beside the session's.

The system lets a lock go when the program that holds it ends, in whichever way; so the file that a
killed program leaves means nothing and never shuts anybody out. Where a file system knows no locks
the program goes on without: the comparison before each save still saves both versions.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import sys
import time
from pathlib import Path
from typing import Final

if sys.platform == "win32":
    import msvcrt

    def _lock(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _lock(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


_HELD: Final = frozenset({errno.EAGAIN, errno.EWOULDBLOCK, errno.EACCES, errno.EDEADLK})
# Whoever only looks whether a lock is held has it for an instant.
_ATTEMPTS: Final = 3
_PAUSE_S: Final = 0.01
_OPEN: Final = os.O_RDWR | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)


class FileLock:
    """A lock that is held until it is released or the program ends. See :func:`take_lock`."""

    def __init__(self, path: Path, descriptor: int) -> None:
        self.path = path
        self._descriptor = descriptor

    @property
    def valid(self) -> bool:
        """Whether others still meet it: no, once its file was removed or put in another place."""
        if sys.platform == "win32":
            return True  # a file that is open cannot be removed there
        try:
            return os.path.samestat(self.path.lstat(), os.fstat(self._descriptor))
        except OSError:
            return False

    def release(self) -> None:
        """Let it go, and remove its file; once only."""
        if sys.platform == "win32":
            os.close(self._descriptor)
            with contextlib.suppress(OSError):
                self.path.unlink()
            return
        # Removed while it is held, so that nobody's lock but ours can be on it.
        if self.valid:
            with contextlib.suppress(OSError):
                self.path.unlink()
        os.close(self._descriptor)


def take_lock(path: Path, patience_s: float = 0.0) -> FileLock:
    """Take the lock of a file, which is made when it is missing and can be read by its owner alone.

    ``patience_s`` are seconds to wait for it where it is held elsewhere.

    Raises:
        BlockingIOError: It is held elsewhere, in this program or in another.
        OSError: There can be no lock there; the file system may know none, or not be writable.
    """
    until = time.monotonic() + patience_s
    attempts = 0
    while attempts < _ATTEMPTS or time.monotonic() < until:
        if attempts:
            time.sleep(_PAUSE_S)
        attempts += 1
        lock = _try(path, _OPEN | os.O_CREAT)
        # Its last holder may have removed the file between our opening and our locking it.
        if lock is not None and lock.valid:
            return lock
        if lock is not None:
            lock.release()
    raise BlockingIOError(errno.EAGAIN, "is held elsewhere", str(path))


def is_held(path: Path) -> bool:
    """Whether the lock of a file is held elsewhere; no, where that cannot be found out.

    A file that is there though nobody holds it is removed.
    """
    try:
        lock = _try(path, _OPEN)
    except OSError:
        return False
    if lock is None:
        return True
    lock.release()
    return False


def _try(path: Path, flags: int) -> FileLock | None:
    descriptor = os.open(path, flags, 0o600)
    try:
        if not stat.S_ISREG(os.fstat(descriptor).st_mode):
            raise OSError(errno.ENOTSUP, "is no ordinary file", str(path))
        _lock(descriptor)
    except OSError as error:
        os.close(descriptor)
        if error.errno in _HELD:
            return None
        raise
    return FileLock(path, descriptor)


class SessionLocks:
    """What one program has to itself in a folder of sessions, each by a lock where there can be."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._held: dict[str, FileLock | None] = {}

    def __contains__(self, session_id: str) -> bool:
        return session_id in self._held

    def take(self, session_id: str) -> bool:
        """Have a session to oneself, or find out that we still have it.

        Returns:
            False when it is held elsewhere. True when it is ours, and where there can be none.
        """
        held = self._held.get(session_id)
        if held is not None and held.valid:
            return True
        self.release(session_id)
        try:
            self._held[session_id] = take_lock(self._path(session_id))
        except BlockingIOError:
            return False
        except OSError:
            self._held[session_id] = None
        return True

    def release(self, session_id: str) -> None:
        held = self._held.pop(session_id, None)
        if held is not None:
            held.release()

    def release_all(self) -> None:
        for session_id in tuple(self._held):
            self.release(session_id)

    def held_elsewhere(self, session_id: str) -> bool:
        return self._held.get(session_id) is None and is_held(self._path(session_id))

    def _path(self, session_id: str) -> Path:
        return self._folder / f".{session_id}.lock"
