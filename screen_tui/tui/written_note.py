"""Where notes are usually written, and what becomes of a written one after an addendum."""

from __future__ import annotations

import stat
from datetime import datetime
from itertools import count
from pathlib import Path

from screen_tui.engine.assess import assess
from screen_tui.errors import SaveFailedError
from screen_tui.files.write import keep_as, why_refused, write_whole
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.note import MOST_LINES, write_note
from screen_tui.session.folder import prior_visit, visits_back_from
from screen_tui.session.model import Session


def usual_path(folder: Path, session_id: str, suffix: str = "") -> Path:
    """The usual place of a note, or with a suffix of another paper of a session.

    Args:
        folder: The folder of sessions.
        session_id: The session.
        suffix: What the name has behind the id.
    """
    return folder / "notes" / f"{session_id}{suffix}.txt"


def write_again(
    protocol: ScreenProtocol, session: Session, folder: Path, now: datetime
) -> Path | None:
    """Write a note anew that lies in its usual place; the old one stays beside it.

    One that has the appendix gets it again.

    Args:
        protocol: What the session is judged by.
        session: The session with its addenda.
        folder: The folder of sessions.
        now: The time of day.

    Returns:
        Where the old one is; None where there is no note, or a link that is not followed.

    Raises:
        SaveFailedError: The disk refused; the note is as it was.
    """
    path = usual_path(folder, session.id)
    try:
        if not stat.S_ISREG(path.lstat().st_mode):
            return None
        full = path.read_bytes().count(b"\n") > MOST_LINES
        earlier = visits_back_from(prior_visit(session, folder, protocol), folder, protocol)
        found = assess(protocol, session)
        text = write_note(protocol, session, found, now, full=full, earlier=earlier)
        names = (f"-before-addendum-{number}" for number in count(len(session.addenda)))
        places = (usual_path(folder, session.id, name) for name in names)
        old = next(place for place in places if keep_as(path, place))
        write_whole(path, text.encode())
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        cause, _ = why_refused(error)
        raise SaveFailedError(f"The note in {path} could not be written anew: {cause}.") from error
    return old
