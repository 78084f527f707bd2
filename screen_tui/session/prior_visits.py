"""The sessions that a re-test follows: only looked at, never written."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from pathlib import Path

from screen_tui.errors import NotFoundError, ScreenError
from screen_tui.protocol.model import Protocol
from screen_tui.session.file import check_against
from screen_tui.session.label import label_key
from screen_tui.session.listing import read_session
from screen_tui.session.model import Client, Session

MOST = 12
"""So many visits back at most; nobody looks further, and two files may follow each other."""


def read_followed(
    session_id: str, client: Client | None, folder: Path, protocol: Protocol
) -> Session:
    """Read a session that another one follows.

    Args:
        session_id: Its id.
        client: Whose re-test it is; None while that is not known.
        folder: The folder of sessions.
        protocol: What it must fit.

    Raises:
        ScreenError: It is gone, cannot be used, or is somebody else's.
    """
    path = folder / f"{session_id}.toml"
    document, earlier = read_session(path)
    check_against(earlier, protocol, document)
    if client is not None and label_key(client.label) != label_key(earlier.client.label):
        raise NotFoundError(f"{path} is of another label.")
    return earlier


def earlier_of(session: Session, folder: Path, protocol: Protocol) -> Session | None:
    """The session that one follows; None for none, and for one that `read_followed` refuses."""
    if not session.follows:
        return None
    with contextlib.suppress(ScreenError):
        return read_followed(session.follows, session.client, folder, protocol)
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


def trail_of(session: Session, folder: Path, protocol: Protocol) -> Trail:
    """Go back from a session as far as there is anything to read."""
    found: list[Session] = []
    last = session
    while last.follows and last.follows not in {session.id, *(one.id for one in found)}:
        if len(found) == MOST:
            told = f"No more than {MOST} visits back are looked at."
            return Trail(tuple(found), last.follows, told)
        try:
            last = read_followed(last.follows, last.client, folder, protocol)
        except ScreenError as error:
            return Trail(tuple(found), last.follows, str(error))
        found.append(last)
    return Trail(tuple(found))


def chain_of(first: Session | None, folder: Path, protocol: Protocol) -> tuple[Session, ...]:
    """A session, the one it follows in its turn, and so on, as far as they can be read."""
    if first is None:
        return ()
    return (first, *trail_of(first, folder, protocol).visits)[:MOST]
