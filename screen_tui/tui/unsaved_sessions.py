"""Where sessions lie: in their folder, or in memory as long as they could not be written there."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from screen_tui.errors import SaveFailedError
from screen_tui.session.folder import SessionSummary, folder_warnings
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore
from screen_tui.tui.drawing.words import moved_to, what_became


class UnsavedSessions:
    """Saves sessions; those that were left without being on disk wait, and each save tries them.

    Attributes:
        store: The folder.
        failure: The last save, where it failed.
    """

    def __init__(self, store: SessionStore) -> None:
        self.store = store
        self.failure: SaveFailedError | None = None
        self._waiting: dict[str, Session] = {}
        self._remark = ""
        self._health_said = False

    @property
    def trouble(self) -> str:
        """Why the last save failed; empty when it did not."""
        return str(self.failure or "")

    @property
    def waiting(self) -> tuple[Session, ...]:
        """Sessions that were left without being on disk as they are."""
        return tuple(self._waiting.values())

    def put_by(self, session: Session) -> None:
        """Keep a session that is left and not on disk."""
        self._waiting[session.id] = session

    def take_back(self, session_id: str) -> Session | None:
        """A session that waits, to be gone on with; None where that one does not."""
        return self._waiting.pop(session_id, None)

    def save_waiting(self) -> None:
        """Write the sessions that wait, and let other windows have those that are written.

        `trouble` says afterwards why one of them could not be written; "" when all were.
        """
        self.failure = None
        for session in self.waiting:
            if self.save(session):
                del self._waiting[session.id]
                self.store.release(session.id)

    def save(self, session: Session) -> bool:
        """Write a session; `trouble` says why it could not be written."""
        try:
            done = self.store.save(session)
        except SaveFailedError as error:
            self.failure = error
            return False
        self.remember(what_became(done))
        return True

    def move(self, folder: Path, in_hand: Sequence[Session], save_all: Callable[[], bool]) -> bool:
        """Save in another folder from now on; where that fails, the first one stays.

        Args:
            folder: The other folder, as it was typed.
            in_hand: The session that is open, if any.
            save_all: Writes all there is, and says whether all is written.

        Returns:
            Whether all is written, be it in the other folder or in the one it already was.
        """
        before, waiting = self.store, dict(self._waiting)
        try:
            folder = folder.expanduser().absolute()
        except RuntimeError:
            why = f"{folder.parts[0]} names nobody on this computer."
            self.failure = SaveFailedError(why, "Type a whole path.")
            return False
        except FileNotFoundError:
            why = "The folder that the program was started in is gone."
            self.failure = SaveFailedError(why, "Type a whole path.")
            return False
        if _same_place(folder, before.folder):
            return save_all()
        self.store = SessionStore(folder)
        for session in (*self.waiting, *in_hand):
            self.store.hold(session.id)
        if save_all():
            before.release_all()
            self._health_said = False
            self.remember(moved_to(self.store.folder))
            return True
        self.store.release_all()
        self.store, self._waiting = before, waiting
        return False

    def folder_warnings(self, found: Sequence[SessionSummary], now: datetime) -> tuple[str, ...]:
        """What to say once about the folder, given the sessions it holds."""
        if self._health_said:
            return ()
        self._health_said = True
        return folder_warnings(self.store.folder, found, now)

    def remember(self, remark: str) -> None:
        """Have something said once."""
        self._remark = f"{self._remark} {remark}".strip()

    def take_remark(self) -> str:
        """What is to be said once about where sessions were saved; empty when nothing is."""
        remark, self._remark = self._remark, ""
        return remark


def _same_place(one: Path, other: Path) -> bool:
    """Whether two paths lead to one place; no, where a folder that one begins in is gone."""
    try:
        return os.path.realpath(one) == os.path.realpath(other)
    except FileNotFoundError:
        return False
