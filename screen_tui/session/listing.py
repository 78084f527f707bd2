"""The list of the sessions of a folder, with those that cannot be used."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from screen_tui.errors import FileRefusedError, Problem, ScreenError
from screen_tui.session.draft import is_draft
from screen_tui.session.index import Index, Known
from screen_tui.session.model import Session
from screen_tui.session.ownfile import read_own
from screen_tui.session.sessionfile import session_in
from screen_tui.tomlfile import TomlDocument, read_toml


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
        stopped: Whether the screen was stopped for safety.
        trials: How many trials were not struck out.
        age: The client's age in years.
    """

    id: str
    label: str
    started: datetime | None
    finished: datetime | None
    path: Path
    problem: str = ""
    open_elsewhere: bool = False
    synthetic: bool = False
    stopped: bool = False
    trials: int = 0
    age: int = 0


def list_sessions(
    folder: Path,
    open_elsewhere: Callable[[str], bool],
    *,
    links: bool = False,
    remember: bool = False,
    now_ns: int | None = None,
) -> tuple[SessionSummary, ...]:
    """All sessions of a folder, newest first; files that cannot be used come last.

    Args:
        folder: The folder; it need not exist.
        open_elsewhere: Whether the session of an id is open in another window.
        links: Whether links are read; only where nothing is ever saved.
        remember: Whether an index is kept in the folder (`index`), so that files which have not
            changed since are not read again; only where sessions are saved, so not with links.
        now_ns: Nanoseconds since 1970; the clock of the computer when left out.

    Raises:
        FileRefusedError: The folder cannot be read.
    """
    index = Index(folder, now_ns) if remember and not links else None
    try:
        files = _files(folder)
    except FileNotFoundError:
        return ()
    except OSError as error:
        reason = f"the folder of sessions cannot be read: {error.strerror}"
        raise FileRefusedError((Problem(folder, None, "", reason),)) from None
    summaries = []
    for file in files:
        path = folder / file.name
        try:
            known = _known(file, path, index, links=links)
        except ScreenError as error:
            summaries.append(SessionSummary(path.stem, "", None, None, path, str(error)))
        else:
            summaries.append(_summary(path, known, open_elsewhere))
    if index is not None:
        index.write()
    usable = [summary for summary in summaries if summary.started]
    usable.sort(key=lambda summary: (summary.started, summary.id), reverse=True)
    return (*usable, *(summary for summary in summaries if not summary.started))


def _files(folder: Path) -> list[os.DirEntry[str]]:
    """The files that may be sessions, by name."""
    with os.scandir(folder) as entries:
        found = [
            entry
            for entry in entries
            if entry.name.endswith(".toml")
            and not entry.name.startswith(".")
            and not is_draft(Path(entry.name))
        ]
    return sorted(found, key=lambda entry: entry.name)


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


def _known(file: os.DirEntry[str], path: Path, index: Index | None, *, links: bool) -> Known:
    """What a list tells of the session in a file, read only where the index does not know it.

    Raises:
        ScreenError: The file cannot be used.
    """
    try:
        status = file.stat(follow_symlinks=False) if index is not None else None
    except OSError:
        status = None  # reading it says what is the matter
    if index is None or status is None:
        return Known.of(read_session(path, links=links)[1])
    known = index.find(path.stem, status)
    return known or index.learn(path.stem, status, read_session(path)[1])


def _summary(path: Path, known: Known, open_elsewhere: Callable[[str], bool]) -> SessionSummary:
    return SessionSummary(
        id=path.stem,
        label=known.label,
        started=known.started,
        finished=known.finished,
        path=path,
        open_elsewhere=known.finished is None and open_elsewhere(path.stem),
        synthetic=known.synthetic,
        stopped=known.stopped,
        trials=known.trials,
        age=known.age,
    )
