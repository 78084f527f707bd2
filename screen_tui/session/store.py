"""The folder of saved sessions: one TOML file each, safe on disk after every save."""

from __future__ import annotations

import hashlib
import os
import re
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from itertools import count
from pathlib import Path

from screen_tui.errors import (
    EntryRefusedError,
    FileRefusedError,
    Problem,
    SaveFailedError,
    ScreenError,
)
from screen_tui.session.draft import is_draft
from screen_tui.session.model import Session, new_session_id
from screen_tui.session.safewrite import why_refused, write_whole
from screen_tui.session.sessionfile import (
    check_against,
    load_session,
    session_in,
    session_text,
)
from screen_tui.tomlfile import read_toml

__all__ = [
    "Saved",
    "SessionStore",
    "SessionSummary",
    "check_against",
    "load_session",
]


@dataclass(frozen=True, slots=True)
class Saved:
    """Where a session was saved.

    Attributes:
        path: The file.
        kept_beside: The file of the same session that something else had changed meanwhile. It
            was left as it is, and ours went to ``path`` under an id of its own; None otherwise.
    """

    path: Path
    kept_beside: Path | None = None


@dataclass(frozen=True, slots=True)
class SessionSummary:
    """One line of the list of sessions.

    ``problem`` says why a file cannot be used; then only ``id`` (from the file's name), ``path``
    and ``problem`` mean anything.
    """

    id: str
    label: str
    started: datetime | None
    finished: datetime | None
    path: Path
    problem: str = ""


class SessionStore:
    """Saves, lists and loads the sessions of one folder.

    The store remembers the contents it last wrote or read for each session. When the file holds
    something else at the next save (another instance, a sync service, an editor), that file is
    left alone and ours is saved beside it as ``<id>-copy-<n>.toml``, a session of its own with
    the id ``<id>-copy-<n>``; further saves of the session go on there. The same holds for a
    session that is new to the store while a file of its name already exists.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._known: dict[str, set[str]] = {}
        self._continued_as: dict[str, str] = {}

    def new_id(self, now: datetime, random_hex: Callable[[], str] | None = None) -> str:
        """An id no file of the folder bears.

        Args:
            now: The start of the session.
            random_hex: Gives four hexadecimal digits; random ones when left out.
        """
        draw = random_hex or (lambda: secrets.token_hex(2))
        while True:
            session_id = new_session_id(now, draw())
            if not self._file(session_id).exists():
                return session_id

    def path_of(self, session_id: str) -> Path:
        """The file a session is saved in, whether or not it exists yet.

        Raises:
            EntryRefusedError: It is not the id of a session.
        """
        return self._file(self._continued_as.get(session_id, session_id))

    def load(self, session_id: str) -> Session:
        """Read the file of that id, to be shown or gone on with.

        Raises:
            NotFoundError: There is none of that id.
            FileRefusedError: It is broken or was written by a newer program.
        """
        document = read_toml(self._file(session_id))
        session = session_in(document)
        if session.id != session_id:
            reason = f"differs from the file's name, {session_id}; one of the two was changed"
            raise FileRefusedError((document.problem(("id",), reason),))
        self._known[session_id] = {document.digest}
        self._continued_as.pop(session_id, None)
        return session

    def save(self, session: Session) -> Saved:
        """Write a session so that at every moment the old or the new file is whole on disk.

        Raises:
            SaveFailedError: The disk refused; an earlier file of the session is as it was.
        """
        session_id = self._continued_as.get(session.id, session.id)
        kept_beside = None
        try:
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            if self._changed_by_another(session_id):
                kept_beside = self._file(session_id)
                session_id = self._free_copy_id(session_id)
            content = session_text(session.model_copy(update={"id": session_id})).encode()
            digest = hashlib.sha256(content).hexdigest()
            # Known before it is written: the last step may fail when the file is already there,
            # and the next attempt must not take it for somebody else's.
            self._known.setdefault(session_id, set()).add(digest)
            write_whole(self._file(session_id), content)
        except OSError as error:
            raise SaveFailedError(_why_not_saved(error, self.folder)) from error
        self._known[session_id] = {digest}
        if session_id != session.id:
            self._continued_as[session.id] = session_id
        return Saved(self._file(session_id), kept_beside)

    def list(self) -> tuple[SessionSummary, ...]:
        """All sessions of the folder, newest first; files that cannot be used come last.

        Answers of a person who has no session yet are no session; see `draft`.

        Raises:
            FileRefusedError: The folder cannot be read.
        """
        try:
            paths = sorted(
                path
                for path in self.folder.iterdir()
                if path.suffix == ".toml" and not path.name.startswith(".") and not is_draft(path)
            )
        except FileNotFoundError:
            return ()
        except OSError as error:
            reason = f"the folder of sessions cannot be read: {error.strerror}"
            raise FileRefusedError((Problem(self.folder, None, "", reason),)) from None
        summaries = [_summary(path) for path in paths]
        usable = [summary for summary in summaries if summary.started]
        usable.sort(key=lambda summary: (summary.started, summary.id), reverse=True)
        return (*usable, *(summary for summary in summaries if not summary.started))

    def _file(self, session_id: str) -> Path:
        if not re.fullmatch(r"[0-9a-z][0-9a-z-]{0,63}", session_id):
            raise EntryRefusedError(
                "A session id has only lower-case letters, digits and hyphens, "
                "such as 2026-03-02-0915-7f3a."
            )
        return self.folder / f"{session_id}.toml"

    def _changed_by_another(self, session_id: str) -> bool:
        """Whether the file holds something this store has neither read nor written."""
        try:
            content = self._file(session_id).read_bytes()
        except FileNotFoundError:
            return False
        except OSError:
            return True
        return hashlib.sha256(content).hexdigest() not in self._known.get(session_id, set())

    def _free_copy_id(self, session_id: str) -> str:
        original = re.sub(r"-copy-\d+$", "", session_id)
        for number in count(1):
            suffix = f"-copy-{number}"
            copy_id = original[: 64 - len(suffix)] + suffix
            if not os.path.lexists(self._file(copy_id)):
                return copy_id
        raise AssertionError("counting does not end")


def _summary(path: Path) -> SessionSummary:
    try:
        session = load_session(path)
    except ScreenError as error:
        return SessionSummary(path.stem, "", None, None, path, str(error))
    return SessionSummary(session.id, session.client.label, session.started, session.finished, path)


def _why_not_saved(error: OSError, folder: Path) -> str:
    cause, advice = why_refused(error)
    return (
        f"The session could not be saved in {folder}: {cause}. {advice}. "
        "Nothing is lost as long as the program stays open."
    )
