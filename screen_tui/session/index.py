"""What is known of the sessions of a folder, so that a list need not read each of them again.

The index is a file beside the sessions that may be removed at any time: it holds nothing that the
sessions do not hold, and whatever is wrong with it only means that they are read. It is never an
error that it cannot be written.
"""

from __future__ import annotations

import contextlib
import os
import stat
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Final

from pydantic import AwareDatetime, Field, ValidationError

from screen_tui import __version__
from screen_tui.protocol.base import Strict
from screen_tui.session.model import FORMAT, Label, Session, SessionId
from screen_tui.session.safewrite import write_whole

INDEX_NAME: Final = ".index.json"

SETTLED_AFTER_NS: Final = 2_000_000_000
"""Nanoseconds after which a file's times tell a further change of it.

Within them it could be changed once more and still look the same: a stick formatted for Windows
knows the time to two seconds.
"""

_WRITTEN_BY: Final = f"screen-tui {__version__}, sessions of format {FORMAT}"
"""Other programs may read the same file otherwise."""

_MOST_BYTES: Final = 64_000_000
_OPEN: Final = os.O_RDONLY | sum(
    getattr(os, flag, 0) for flag in ("O_NOFOLLOW", "O_NONBLOCK", "O_BINARY")
)


class Stamp(Strict):
    """What tells one state of a file from another without opening it.

    ``changed_ns`` is when anything about the file last changed, its times among it; on Windows,
    when it was made.
    """

    inode: int
    modified_ns: int
    changed_ns: int
    size: int

    @classmethod
    def of(cls, status: os.stat_result) -> Stamp:
        """The stamp in what the system says of a file."""
        return cls.model_construct(
            inode=status.st_ino,
            modified_ns=status.st_mtime_ns,
            changed_ns=status.st_ctime_ns,
            size=status.st_size,
        )

    def settled(self, now_ns: int) -> bool:
        """Whether a further change from now on would give another stamp."""
        return max(self.modified_ns, self.changed_ns) + SETTLED_AFTER_NS <= now_ns


class Known(Strict):
    """What a list tells of a session. ``trials`` counts those that were not struck out."""

    label: Label
    age: Annotated[int, Field(ge=5, le=110)]
    started: AwareDatetime
    finished: AwareDatetime | None = None
    synthetic: bool = False
    stopped: bool = False
    trials: Annotated[int, Field(ge=0)] = 0

    @classmethod
    def of(cls, session: Session) -> Known:
        """What a list tells of this session."""
        return cls.model_construct(
            label=session.client.label,
            age=session.client.age,
            started=session.started,
            finished=session.finished,
            synthetic=session.synthetic,
            stopped=bool(session.stopped),
            trials=sum(trial.counts for trial in session.as_amended.trials),
        )


class _Entry(Strict):
    stamp: Stamp
    known: Known


class _File(Strict):
    written_by: str
    sessions: Mapping[SessionId, _Entry]


class Index:
    """The index of one folder: looked things up in, told of what was read, and then written.

    Args:
        folder: The folder of the sessions.
        now_ns: Nanoseconds since 1970, before any file of the folder was looked at; the clock of
            the computer when left out.
    """

    def __init__(self, folder: Path, now_ns: int | None = None) -> None:
        self._path = folder / INDEX_NAME
        self._now_ns = time.time_ns() if now_ns is None else now_ns
        self._before = _read(self._path)
        self._after: dict[str, _Entry] = {}

    def find(self, session_id: str, status: os.stat_result) -> Known | None:
        """What is known of a session whose file is still as it was; None when it has to be read."""
        entry = self._before.get(session_id)
        if entry is None or not stat.S_ISREG(status.st_mode) or entry.stamp != Stamp.of(status):
            return None
        self._after[session_id] = entry
        return entry.known

    def learn(self, session_id: str, status: os.stat_result, session: Session) -> Known:
        """Keep what was read.

        Args:
            session_id: The name of the file, which is the session's.
            status: What the system said of the file before it was read.
            session: What was read.
        """
        known, stamp = Known.of(session), Stamp.of(status)
        if stat.S_ISREG(status.st_mode) and stamp.settled(self._now_ns):
            self._after[session_id] = _Entry.model_construct(stamp=stamp, known=known)
        return known

    def write(self) -> None:
        """Write it where it has changed, and where that can be done."""
        if self._after == self._before or not _may_be_replaced(self._path):
            return
        content = _File.model_construct(written_by=_WRITTEN_BY, sessions=self._after)
        with contextlib.suppress(OSError):
            write_whole(self._path, content.model_dump_json().encode())


def _read(path: Path) -> Mapping[str, _Entry]:
    """What an index of ours holds; nothing where there is none that can be used."""
    try:
        found = _File.model_validate_json(_content(path), strict=True)
    except (OSError, ValidationError):
        return {}
    return found.sessions if found.written_by == _WRITTEN_BY else {}


def _content(path: Path) -> bytes:
    descriptor = os.open(path, _OPEN)
    try:
        if not _is_ours(os.fstat(descriptor)):
            return b""
        with os.fdopen(descriptor, "rb", closefd=False) as file:
            return file.read(_MOST_BYTES)
    finally:
        os.close(descriptor)


def _may_be_replaced(path: Path) -> bool:
    """Whether nothing stands there, or something of ours: not a link, folder or other's file."""
    try:
        return _is_ours(path.lstat())
    except FileNotFoundError:
        return True
    except OSError:
        return False


def _is_ours(status: os.stat_result) -> bool:
    owner = os.getuid() if hasattr(os, "getuid") else status.st_uid
    return stat.S_ISREG(status.st_mode) and status.st_uid == owner
