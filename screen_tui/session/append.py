"""Adding to the file of a finished session: every byte that stands there stays where it is."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from pathlib import Path

from screen_tui.errors import (
    EntryRefusedError,
    FileRefusedError,
    OpenElsewhereError,
    Problem,
    SaveFailedError,
)
from screen_tui.files.integrity import changed_since, read_own
from screen_tui.files.lock import take_lock
from screen_tui.files.toml import dump_toml, parse_toml
from screen_tui.files.write import why_refused, write_whole
from screen_tui.session.file import session_in
from screen_tui.session.model import Addendum, Session

PATIENCE_S = 5.0
"""Seconds to wait for another addendum, which takes a fraction of one."""

_CHANGED = "was changed meanwhile, so nothing was added to it. Look at it again first"


def addendum_text(addendum: Addendum) -> str:
    """An addendum as the block of TOML that is put at the end of a session's file."""
    return dump_toml({"addenda": [addendum.model_dump(exclude_defaults=True)]})


def refuse_unfinished(session: Session) -> None:
    """Refuse an addendum to a session that is simply gone on with.

    Raises:
        EntryRefusedError: It is not finished.
    """
    if session.finished is None:
        raise EntryRefusedError(
            "This screen is not finished, so nothing is added to it: open it in the program and "
            "correct it there. An addendum is for a screen whose note is written."
        )


def append_to_file(path: Path, addendum: Addendum) -> Session:
    """Add an addendum to a session's file, wherever it lies and whatever it is called.

    Another one that is just being added is waited for.

    Raises:
        OpenElsewhereError: The program has the session open, or adding to it goes on for long.
        ScreenError: As for :func:`append_held`.
    """
    session_id = session_in(read_own(path)).id
    try:
        lock = take_lock(path.parent / f".{session_id}.lock", PATIENCE_S)
    except BlockingIOError:
        raise OpenElsewhereError(
            f"The session in {path} is busy: it is open in a window of the program, or something "
            "else is being added to it. Leave it there, or try again in a moment."
        ) from None
    except OSError:
        lock = None  # there can be none here, such as on a file system that knows none
    try:
        return append_held(path, addendum)[0]
    finally:
        if lock is not None:
            lock.release()


def append_held(path: Path, addendum: Addendum, known: Collection[str] = ()) -> tuple[Session, str]:
    """Add an addendum to a session's file that nobody else has meanwhile.

    Args:
        path: The file; a link is refused.
        addendum: What to add.
        known: SHA-256, in hexadecimal, of the contents that the addendum was written for; empty
            when it was written for whatever stands there.

    Returns:
        The session with the addendum, and the SHA-256 of its file.

    Raises:
        NotFoundError: There is nothing at the path.
        FileRefusedError: It is no session that can be used, or nothing can be added at its end.
        EntryRefusedError: The screen is not finished, or has no such trial.
        SaveFailedError: The file was changed meanwhile, or the disk refused; it is as it was.
    """
    document = read_own(path)
    session = session_in(document)
    refuse_unfinished(session)
    if addendum.trial is not None and addendum.trial > len(session.trials):
        raise EntryRefusedError(
            f"There is no trial {addendum.trial}: the session has {len(session.trials)}."
        )
    if known and document.digest not in known:
        raise SaveFailedError(f"{path} {_CHANGED}.")
    try:
        before = path.read_bytes()
        between = b"\n" if before.endswith(b"\n") else b"\n\n"
        after = before + between + addendum_text(addendum).encode()
        longer = _session_of(after, path)
        if longer != session.model_copy(update={"addenda": (*session.addenda, addendum)}):
            raise _cannot_be_added(path, "the file would say something else")
        # As late as can be: whoever heeds no lock may write at any time.
        if _digest(before) != document.digest or changed_since(path, {document.digest}):
            raise SaveFailedError(f"{path} {_CHANGED}.")
        write_whole(path, after)
    except OSError as error:
        cause, _ = why_refused(error)
        raise SaveFailedError(
            f"Nothing could be added to {path}: {cause}. The file is as it was."
        ) from error
    return longer, _digest(after)


def _session_of(content: bytes, path: Path) -> Session:
    try:
        return session_in(parse_toml(content, path))
    except FileRefusedError as refusal:
        raise _cannot_be_added(path, refusal.problems[0].reason) from None


def _cannot_be_added(path: Path, why: str) -> FileRefusedError:
    reason = f"nothing can be added at the end of this file: {why}"
    return FileRefusedError((Problem(path, None, "", reason),))


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
