"""The sessions that a re-test follows: only looked at, never written."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from pathlib import Path

from screen_tui.errors import NotFoundError, ScreenError
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.file import check_against
from screen_tui.session.folder import read_session
from screen_tui.session.model import Client, Session, label_key

MOST = 12
"""So many visits back at most; nobody looks further, and two files may follow each other."""


def read_prior_visit(
    session_id: str, client: Client | None, folder: Path, protocol: ScreenProtocol
) -> Session:
    """Read a session that another one follows; ``client`` is None while that is not known.

    Raises:
        ScreenError: It is gone, cannot be used, or is somebody else's.
    """
    path = folder / f"{session_id}.toml"
    document, earlier = read_session(path)
    check_against(earlier, protocol, document)
    if client is not None and label_key(client.label) != label_key(earlier.client.label):
        raise NotFoundError(f"{path} is of another patient.")
    return earlier


def prior_visit(session: Session, folder: Path, protocol: ScreenProtocol) -> Session | None:
    """The session that one follows; None for none, and for one that `read_prior_visit` refuses."""
    if not session.follows:
        return None
    with contextlib.suppress(ScreenError):
        return read_prior_visit(session.follows, session.client, folder, protocol)
    return None


@dataclass(frozen=True, slots=True)
class Trail:
    """The visits a session follows, the newest first.

    Attributes:
        visits: As many as can be read, `MOST` at most.
        missing: The id of the one that comes next and is not among them; empty for none.
        why: Why it is not.
    """

    visits: tuple[Session, ...]
    missing: str = ""
    why: str = ""


def prior_visits(session: Session, folder: Path, protocol: ScreenProtocol) -> Trail:
    """Go back from a session as far as there is anything to read."""
    found: list[Session] = []
    last = session
    while last.follows and last.follows not in {session.id, *(one.id for one in found)}:
        if len(found) == MOST:
            told = f"No more than {MOST} visits back are looked at."
            return Trail(tuple(found), last.follows, told)
        try:
            last = read_prior_visit(last.follows, last.client, folder, protocol)
        except ScreenError as error:
            return Trail(tuple(found), last.follows, str(error))
        found.append(last)
    return Trail(tuple(found))


def visits_back_from(
    first: Session | None, folder: Path, protocol: ScreenProtocol
) -> tuple[Session, ...]:
    """A session, the one it follows in its turn, and so on, as far as they can be read."""
    if first is None:
        return ()
    return (first, *prior_visits(first, folder, protocol).visits)[:MOST]
