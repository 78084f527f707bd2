"""The list of the sessions of a folder, with those that cannot be used."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from screen_tui.errors import FileRefusedError, Problem, ScreenError
from screen_tui.session.draft import is_draft
from screen_tui.session.model import Session
from screen_tui.session.ownfile import read_own
from screen_tui.session.sessionfile import session_in
from screen_tui.tomlfile import TomlDocument, read_toml


@dataclass(frozen=True, slots=True)
class SessionSummary:
    """One line of the list of sessions.

    ``problem`` says why a file cannot be used; then only ``id`` (from the file's name), ``path``
    and ``problem`` mean anything. ``open_elsewhere`` says that another window has the session.
    """

    id: str
    label: str
    started: datetime | None
    finished: datetime | None
    path: Path
    problem: str = ""
    open_elsewhere: bool = False


def list_sessions(
    folder: Path, open_elsewhere: Callable[[str], bool], *, links: bool = False
) -> tuple[SessionSummary, ...]:
    """All sessions of a folder, newest first; files that cannot be used come last.

    Args:
        folder: The folder; it need not exist.
        open_elsewhere: Whether the session of an id is open in another window.
        links: Whether links are read; only where nothing is ever saved.

    Raises:
        FileRefusedError: The folder cannot be read.
    """
    try:
        paths = sorted(
            path
            for path in folder.iterdir()
            if path.suffix == ".toml" and not path.name.startswith(".") and not is_draft(path)
        )
    except FileNotFoundError:
        return ()
    except OSError as error:
        reason = f"the folder of sessions cannot be read: {error.strerror}"
        raise FileRefusedError((Problem(folder, None, "", reason),)) from None
    summaries = [_summary(path, open_elsewhere, links) for path in paths]
    usable = [summary for summary in summaries if summary.started]
    usable.sort(key=lambda summary: (summary.started, summary.id), reverse=True)
    return (*usable, *(summary for summary in summaries if not summary.started))


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


def _summary(path: Path, open_elsewhere: Callable[[str], bool], links: bool) -> SessionSummary:
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
        open_elsewhere=open_elsewhere(session.id),
    )
