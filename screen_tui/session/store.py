"""The folder of saved sessions and drafts: one TOML file each, safe on disk after every save."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from itertools import count
from pathlib import Path

from screen_tui.errors import EntryRefusedError, OpenElsewhereError, SaveFailedError, ScreenError
from screen_tui.files.lock import SessionLocks
from screen_tui.files.toml import TomlDocument
from screen_tui.files.toml_write import dump_toml
from screen_tui.files.write import changed_since, keep_as, why_refused, write_whole
from screen_tui.session.draft import (
    Check,
    Draft,
    FoundDraft,
    draft_ids,
    find_drafts,
    is_usable,
    read_draft,
)
from screen_tui.session.file import append_held, format_of, session_text
from screen_tui.session.folder import (
    NEWEST,
    KnownFolder,
    Listed,
    SessionSummary,
    free_id,
    is_draft,
    list_sessions,
    read_session,
)
from screen_tui.session.model import FORMAT, Addendum, Session


@dataclass(frozen=True, slots=True)
class Saved:
    """Where a session or a draft was saved, and what became of earlier files.

    Attributes:
        kept_beside: The file of the same session that something else had changed meanwhile. It
            was left as it is, and ours went to ``path`` under an id of its own; None otherwise.
        kept_original: The file of an earlier format as it was, under its new name, at the first
            save after it; or a draft that could not be used; None otherwise.
    """

    path: Path
    kept_beside: Path | None = None
    kept_original: Path | None = None
    folder_made_again: bool = False


class SessionStore:
    """Saves, lists and loads the sessions and the drafts of one folder.

    A session is opened for writing with `begin`, `resume` or `hold`, and a draft with
    `begin_draft` or `resume_draft`. Either is given back with `release`; in between no other
    window of the program can have it. Where that is not respected (a sync service, an editor, a
    file system without locks) and a file is not what the store last wrote or read, it is left alone
    and ours is saved beside it as ``<id>-copy-<n>.toml``, a session of its own with that id, or as
    the next free draft; further saves go on there. The same holds for a session that is new to the
    store while a file, link, folder or pipe of its name exists.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._place = KnownFolder(folder)
        self._locks = SessionLocks(folder)
        self._known: dict[str, set[str]] = {}
        self._continued_as: dict[str, str] = {}
        self._earlier_format: dict[str, int] = {}
        self._beside_untold: dict[str, Path] = {}
        self._set_aside_untold: dict[str, Path] = {}

    # Having a session or a draft to oneself.

    def begin(self, now: datetime, random_hex: Callable[[], str] | None = None) -> str:
        """The id of a new session, which is ours from now on; arguments as for `new_id`."""
        while True:
            session_id = self.new_id(now, random_hex)
            if session_id not in self._locks and self.hold(session_id):
                return session_id

    def resume(
        self, session_id: str, check: Callable[[Session, TomlDocument], None] | None = None
    ) -> Session:
        """Read a session to go on with it; it is ours from now on.

        Raises:
            OpenElsewhereError: Another window has it.
            ScreenError: As for `load`, or it does not pass the check. Either way it is not ours.
        """
        with self._ours_where_usable(session_id):
            return self.load(session_id, check)

    def begin_draft(self, check: Check) -> str:
        """The id of a new draft, which is ours from now on: the first that no other has.

        A draft that has it and cannot be used is renamed, which the first save tells.

        Raises:
            SaveFailedError: The disk refused.
        """
        for draft_id in draft_ids():
            ours = draft_id in self._locks or draft_id in self._continued_as
            if ours or not self.hold(draft_id):
                continue
            path = self._file(draft_id)
            try:
                if os.path.lexists(path) and not is_usable(path, check):
                    self._set_aside_untold[draft_id] = _set_aside(path)
            except OSError as error:
                self.release(draft_id)
                raise _answers_not_saved(error, self.folder) from error
            if not os.path.lexists(path):
                return draft_id
            self.release(draft_id)
        raise AssertionError("counting does not end")

    def resume_draft(self, draft_id: str, check: Check) -> Draft:
        """Read a draft to go on with it; it is ours from now on.

        Raises:
            OpenElsewhereError: Another window has it.
            ScreenError: It is gone or cannot be used. Either way it is not ours.
        """
        with self._ours_where_usable(draft_id):
            document, draft = read_draft(self._file(draft_id), check)
        self._remember(draft_id, document)
        return draft

    def hold(self, session_id: str) -> bool:
        """Have a session or a draft to oneself; False when another window has it."""
        self._file(session_id)
        return self._locks.take(session_id)

    def release(self, session_id: str) -> None:
        """Let other windows have one of ours, under whichever name it was saved last."""
        for name in {session_id, self._continued_as.get(session_id, session_id)}:
            self._locks.release(name)

    def release_all(self) -> None:
        self._locks.release_all()

    # Names, reading, writing.

    def new_id(self, now: datetime, random_hex: Callable[[], str] | None = None) -> str:
        """An id no file of the folder bears; random_hex gives its four hexadecimal digits."""
        return free_id(now, self._file, random_hex)

    def path_of(self, session_id: str) -> Path:
        """The file a session or a draft is saved in, whether or not it exists yet.

        Raises:
            EntryRefusedError: It is no such id.
        """
        return self._file(self._continued_as.get(session_id, session_id))

    def load(
        self, session_id: str, check: Callable[[Session, TomlDocument], None] | None = None
    ) -> Session:
        """Read the file of that id; it is not changed.

        Raises:
            NotFoundError: There is none of that id.
            FileRefusedError: It is broken, a link, or was written by a newer program.
        """
        document, session = read_session(self._file(session_id))
        if check is not None:
            check(session, document)
        self._remember(session_id, document)
        self._earlier_format.pop(session_id, None)
        if format_of(document) != FORMAT:
            self._earlier_format[session_id] = format_of(document)
        return session

    def save(self, session: Session) -> Saved:
        """Write a session so that at every moment the old or the new file is whole on disk.

        Raises:
            SaveFailedError: The disk refused; an earlier file of the session is as it was.
        """
        try:
            return self._write(
                session.id, lambda name: session_text(session.model_copy(update={"id": name}))
            )
        except OSError as error:
            cause, advice = why_refused(error)
            raise SaveFailedError(
                f"The session could not be saved in {self.folder}: {cause}.",
                f"{advice}. Nothing is lost as long as the program stays open.",
            ) from error

    def save_draft(self, draft_id: str, draft: Draft) -> Saved:
        """Write a draft of ours; otherwise as for `save`."""
        try:
            return self._write(draft_id, lambda _: dump_toml(draft.model_dump()))
        except OSError as error:
            raise _answers_not_saved(error, self.folder) from error

    def forget_draft(self, draft_id: str) -> None:
        """Remove a draft of ours, unless another program has written into it since.

        Raises:
            SaveFailedError: The disk refused. Either way it is no longer ours.
        """
        path = self.path_of(draft_id)
        try:
            if not changed_since(path, self._known.get(path.stem, set())):
                path.unlink(missing_ok=True)
        except OSError as error:
            cause, _ = why_refused(error)
            raise SaveFailedError(
                f"The draft {path} could not be removed: {cause}. Its answers are offered again."
            ) from error
        finally:
            self.release(draft_id)

    def append(self, session_id: str, addendum: Addendum) -> Session:
        """Add an addendum to a finished session's file, where all else stays; give the session.

        Raises:
            OpenElsewhereError: Another window has it.
            ScreenError: As for `append_held`; among others when the file was changed since the
                session was last loaded or saved here.
        """
        path, held = self._file(session_id), session_id in self._locks
        if not self.hold(session_id):
            raise _open_elsewhere(path)
        try:
            session, digest = append_held(path, addendum, self._known.get(session_id, set()))
        finally:
            if not held:
                self.release(session_id)
        self._known[session_id] = {digest}
        return session

    def drafts(self, check: Check) -> tuple[FoundDraft, ...]:
        return find_drafts(self.folder, check, self._locks.held_elsewhere)

    def list(self, *, links: bool = False) -> tuple[SessionSummary, ...]:
        return list_sessions(self.folder, self._locks.held_elsewhere, links=links).sessions

    def newest(self) -> Listed:
        return self.search("")

    def search(self, wanted: str, *, most: int | None = NEWEST) -> Listed:
        """The newest sessions whose label or date holds some words; see `list_sessions`."""
        return list_sessions(self.folder, self._locks.held_elsewhere, wanted, most=most)

    def _file(self, session_id: str) -> Path:
        if not re.fullmatch(r"[0-9a-z][0-9a-z-]{0,63}", session_id):
            raise EntryRefusedError(
                "A session id has only lower-case letters, digits and hyphens, "
                "such as 2026-03-02-0915-7f3a."
            )
        return self.folder / f"{session_id}.toml"

    @contextmanager
    def _ours_where_usable(self, name: str) -> Iterator[None]:
        """Have a session or a draft to oneself, unless it turns out not to be usable."""
        if not self.hold(name):
            raise _open_elsewhere(self._file(name))
        try:
            yield
        except ScreenError:
            self.release(name)
            raise

    def _remember(self, name: str, document: TomlDocument) -> None:
        self._place.see()
        self._known[name] = {document.digest}
        self._continued_as.pop(name, None)

    def _write(self, name: str, text: Callable[[str], str]) -> Saved:
        """Write what is saved under a name, given the name that it is in the end."""
        self._place.make()
        name = self._name_to_write(name)
        path = self._file(name)
        original = self._keep_original(name)
        content = text(name).encode()
        digest = hashlib.sha256(content).hexdigest()
        # Known before it is written: the last step may fail when the file is already there, and
        # the next attempt must not take it for somebody else's.
        self._known.setdefault(name, set()).add(digest)
        write_whole(path, content)
        self._known[name] = {digest}
        self._earlier_format.pop(name, None)
        beside = self._beside_untold.pop(name, None)
        original = self._set_aside_untold.pop(name, original)
        made_again, self._place.made_again = self._place.made_again, False
        return Saved(path, beside, original, made_again)

    def _name_to_write(self, session_id: str) -> str:
        """The id to write under: a new one where the file is no longer ours."""
        name = self._continued_as.get(session_id, session_id)
        held = name in self._locks
        # The folder may have come and gone since the lock was taken, or have been made just now.
        ours = not held or self._locks.take(name)
        if ours and not changed_since(self._file(name), self._known.get(name, set())):
            return name
        copy_id = self._free_name_beside(name, held=held)
        self._locks.release(name)
        # Noted before it is written, so that a further attempt goes on with the same name.
        self._continued_as[session_id] = copy_id
        self._beside_untold[copy_id] = self._file(name)
        return copy_id

    def _free_name_beside(self, name: str, *, held: bool) -> str:
        names = draft_ids() if is_draft(self._file(name)) else _copy_ids(name)
        return next(
            one
            for one in names
            if one not in self._locks
            and not os.path.lexists(self._file(one))
            and (not held or self._locks.take(one))
        )

    def _keep_original(self, session_id: str) -> Path | None:
        """Keep the file of an earlier format under a name that nobody takes for a session's."""
        written = self._earlier_format.get(session_id)
        source = self._file(session_id)
        if written is None or not source.exists():
            return None
        numbers = ("" if number == 1 else f"-{number}" for number in count(1))
        targets = (self.folder / f"{session_id}.format-{written}{n}.toml.kept" for n in numbers)
        return next(target for target in targets if keep_as(source, target))


def _copy_ids(session_id: str) -> Iterator[str]:
    original = re.sub(r"-copy-\d+$", "", session_id)
    for number in count(1):
        suffix = f"-copy-{number}"
        yield original[: 64 - len(suffix)] + suffix


def _set_aside(path: Path) -> Path:
    targets = (path.with_name(f"{path.name}.unusable-{number}") for number in count(1))
    return path.rename(next(target for target in targets if not os.path.lexists(target)))


def _open_elsewhere(path: Path) -> OpenElsewhereError:
    these, them = ("These answers are", "them") if is_draft(path) else ("This session is", "it")
    return OpenElsewhereError(
        f"{these} open in another window, or on another computer that shares the folder. Continue "
        f"there, or leave {them} there with q and choose {them} here again. If there is no such "
        "window, log out and in again."
    )


def _answers_not_saved(error: OSError, folder: Path) -> SaveFailedError:
    cause, _ = why_refused(error)
    return SaveFailedError(
        f"The answers are not saved in {folder}: {cause}.",
        "They stay in memory while the program is open; each further key tries again.",
    )
