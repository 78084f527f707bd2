"""The sessions of a folder: all, the newest, or those that hold some words."""

from __future__ import annotations

import re
import stat
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from screen_tui.errors import FileRefusedError, Problem, ScreenError
from screen_tui.files.integrity import read_own
from screen_tui.files.toml import MOST_BYTES, TomlDocument, read_toml
from screen_tui.session.draft import is_draft
from screen_tui.session.file import session_in
from screen_tui.session.label import label_key
from screen_tui.session.model import Session

NEWEST = 200
"""So many sessions are read for a list; older ones are read when somebody searches for them."""

OpenElsewhere = Callable[[str], bool]
"""Whether the session of an id is open in another window."""


@dataclass(frozen=True, slots=True)
class SessionSummary:
    """One line of the list of sessions.

    Attributes:
        id: The id, which is the file's name without its ending.
        path: The file.
        problem: Why the file cannot be used; then nothing else but ``id`` and ``path`` means
            anything.
        open_elsewhere: Whether another window has the session; asked for unfinished ones only.
        synthetic: Whether it is of an invented person.
    """

    id: str
    label: str
    started: datetime | None
    finished: datetime | None
    path: Path
    problem: str = ""
    open_elsewhere: bool = False
    synthetic: bool = False


@dataclass(frozen=True, slots=True)
class Listed:
    """Some sessions of a folder.

    Attributes:
        sessions: The latest first; files that cannot be used come last.
        older: How many older files were not read.
    """

    sessions: tuple[SessionSummary, ...]
    older: int


def list_sessions(
    folder: Path, open_elsewhere: OpenElsewhere, *, links: bool = False
) -> tuple[SessionSummary, ...]:
    """All sessions of a folder, the latest first; files that cannot be used come last.

    Args:
        folder: The folder; it need not exist.
        open_elsewhere: Whether the session of an id is open in another window.
        links: Whether links are read; only where nothing is ever saved.

    Raises:
        FileRefusedError: The folder cannot be read.
    """
    return _sorted(_summary(path, open_elsewhere, links=links) for path in _files(folder))


def newest_sessions(folder: Path, open_elsewhere: OpenElsewhere) -> Listed:
    """The newest `NEWEST` sessions by the names of their files, which begin with the start.

    Raises:
        FileRefusedError: The folder cannot be read.
    """
    files = _files(folder)
    newest = files[:NEWEST]
    return Listed(
        _sorted(_summary(path, open_elsewhere) for path in newest), len(files) - len(newest)
    )


def search_sessions(
    folder: Path, open_elsewhere: OpenElsewhere, wanted: str, *, most: int | None = NEWEST
) -> Listed:
    """The newest sessions whose label or date holds some words; every file is looked at.

    Args:
        folder: The folder; it need not exist.
        open_elsewhere: Whether the session of an id is open in another window.
        wanted: A part of a label or of a date such as 2026-03; case does not matter.
        most: At most so many are given; None for all.

    Raises:
        FileRefusedError: The folder cannot be read.
    """
    wanted = label_key(wanted)
    # What TOML may write in another way is left to the reading.
    plain = max(re.split(r'["\\]', wanted), key=len)
    files = _files(folder)
    found: list[SessionSummary] = []
    for looked_at, path in enumerate(files):
        if most is not None and len(found) >= most:
            return Listed(_sorted(found), len(files) - looked_at)
        if not _holds(path, plain):
            continue
        summary = _summary(path, open_elsewhere)
        if summary.problem or wanted in searched(summary):
            found.append(summary)
    return Listed(_sorted(found), 0)


def searched(summary: SessionSummary) -> str:
    """The words a search looks at: the label and the date."""
    date = summary.started.date().isoformat() if summary.started else ""
    return f"{label_key(summary.label)} {date}"


def _sorted(found: Iterable[SessionSummary]) -> tuple[SessionSummary, ...]:
    summaries = tuple(found)
    usable = [summary for summary in summaries if summary.started]
    usable.sort(key=lambda summary: (summary.started, summary.id), reverse=True)
    unusable = [summary for summary in summaries if not summary.started]
    return (*usable, *sorted(unusable, key=lambda summary: summary.path))


def _files(folder: Path) -> list[Path]:
    """The files that may be sessions, the newest by name first.

    Raises:
        FileRefusedError: The folder cannot be read.
    """
    try:
        paths = sorted(folder.iterdir(), key=lambda path: path.name, reverse=True)
    except FileNotFoundError:
        return []
    except OSError as error:
        reason = f"the folder of sessions cannot be read: {error.strerror}"
        raise FileRefusedError((Problem(folder, None, "", reason),)) from None
    return [
        path
        for path in paths
        if path.name.endswith(".toml") and not path.name.startswith(".") and not is_draft(path)
    ]


def _holds(path: Path, plain: str) -> bool:
    """Whether an ordinary file holds a word, in its text or its name."""
    try:
        status = path.lstat()
        if not stat.S_ISREG(status.st_mode) or status.st_size > MOST_BYTES:
            return False
        text = path.read_bytes().decode(errors="replace")
    except OSError:
        return False
    return plain in text.casefold() or plain in path.stem


def read_session(path: Path, *, links: bool = False) -> tuple[TomlDocument, Session]:
    """Read a session of the folder.

    Raises:
        NotFoundError: There is nothing at the path.
        FileRefusedError: It is broken, newer, a link, or not named by its id: it would be saved
            under two names.
    """
    document = read_toml(path) if links else read_own(path)
    session = session_in(document)
    if session.id != path.stem:
        reason = f"differs from the file's name, {path.stem}; one of the two was changed"
        raise FileRefusedError((document.problem(("id",), reason),))
    return document, session


def _summary(path: Path, open_elsewhere: OpenElsewhere, *, links: bool = False) -> SessionSummary:
    """What a list tells of the session in a file, or why the file cannot be used."""
    try:
        _, session = read_session(path, links=links)
    except ScreenError as error:
        return SessionSummary(path.stem, "", None, None, path, str(error))
    return SessionSummary(
        id=session.id,
        label=session.client.label,
        started=session.started,
        finished=session.finished,
        path=path,
        open_elsewhere=session.finished is None and open_elsewhere(session.id),
        synthetic=session.synthetic,
    )
