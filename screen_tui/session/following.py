"""The sessions that a re-test follows: only looked at, never written."""

from __future__ import annotations

from pathlib import Path

from screen_tui.errors import ScreenError
from screen_tui.protocol.whole import Protocol
from screen_tui.session.listing import read_session
from screen_tui.session.model import Session
from screen_tui.session.sessionfile import check_against

MOST = 12
"""So many visits back at most; nobody looks further, and two files may follow each other."""


def followed(session_id: str, folder: Path, protocol: Protocol) -> Session | None:
    """Read the session of that id; None for no id, and for one that is gone or cannot be used."""
    if not session_id:
        return None
    try:
        document, earlier = read_session(folder / f"{session_id}.toml")
        check_against(earlier, protocol, document)
    except ScreenError:
        return None
    return earlier


def chain_of(first: Session | None, folder: Path, protocol: Protocol) -> tuple[Session, ...]:
    """A session, the one it follows in its turn, and so on, as far as they can be read."""
    found: list[Session] = []
    following = first
    while following is not None and following not in found and len(found) < MOST:
        found.append(following)
        following = followed(following.follows, folder, protocol)
    return tuple(found)
