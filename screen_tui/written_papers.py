"""Where notes and sheets are usually written, and what becomes of them after an addendum."""

from __future__ import annotations

import stat
from collections.abc import Mapping
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import Literal

from screen_tui.engine import Assessment, assess
from screen_tui.errors import SaveFailedError
from screen_tui.files.write import keep_as, why_refused, write_whole
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.note import MOST_LINES, write_note
from screen_tui.report.patient_sheet import write_patient_sheet
from screen_tui.session.folder import prior_visits
from screen_tui.session.model import Session

Paper = Literal["note", "sheet"]
SUFFIXES: dict[Paper, str] = {"note": "", "sheet": "-patient"}
"""What the name of a paper's file has behind the id of its session."""


def usual_path(folder: Path, session_id: str, suffix: str) -> Path:
    """The usual place of a paper of a session in a folder of sessions."""
    return folder / "notes" / f"{session_id}{suffix}.txt"


def written_papers(folder: Path, session_id: str) -> dict[Paper, Path]:
    """The papers of a session that lie in their usual place; a link is nobody's paper."""
    places = {paper: usual_path(folder, session_id, end) for paper, end in SUFFIXES.items()}
    return {paper: path for paper, path in places.items() if _is_file(path)}


def _is_file(path: Path) -> bool:
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except OSError:
        return False


def write_again(
    protocol: ScreenProtocol, session: Session, folder: Path, now: datetime
) -> dict[Paper, Path]:
    """Write the papers of a session anew that lie in their usual place; the old ones stay there.

    A note that has the appendix gets it again; a sheet that says the same is left as it is.

    Returns:
        Where the old text of each is now.

    Raises:
        SaveFailedError: The disk refused; the paper it names is as it was.
    """
    written = written_papers(folder, session.id)
    if not written:
        return {}
    old: dict[Paper, Path] = {}
    found = assess(protocol, session)
    for paper, path in written.items():
        try:
            before = path.read_bytes()
            text = _text_of(paper, before, protocol, session, found, folder, now).encode()
            if text == before:
                continue
            ends = (f"{SUFFIXES[paper]}-before-addendum-{n}" for n in count(len(session.addenda)))
            places = (usual_path(folder, session.id, end) for end in ends)
            old[paper] = next(place for place in places if keep_as(path, place))
            write_whole(path, text)
        except OSError as error:
            cause, _ = why_refused(error)
            reason = f"The {paper} in {path} could not be written anew: {cause}."
            raise SaveFailedError(reason) from error
    return old


def _text_of(
    paper: Paper,
    before: bytes,
    protocol: ScreenProtocol,
    session: Session,
    found: Assessment,
    folder: Path,
    now: datetime,
) -> str:
    if paper == "sheet":
        return write_patient_sheet(protocol, session, found)
    full = before.count(b"\n") > MOST_LINES
    earlier = prior_visits(session, folder, protocol).visits
    return write_note(protocol, session, found, now, full=full, earlier=earlier)


def written_anew(old: Mapping[Paper, Path]) -> str:
    """Say what was written anew and where the old is; empty where there was no paper."""
    if not old:
        return ""
    which = " and ".join(f"the {paper}" for paper in old)
    names = " and ".join(path.name for path in old.values())
    beside = "old one is beside it" if len(old) == 1 else "old ones are beside them"
    return f"{which} written anew; the {beside}, {names}"
