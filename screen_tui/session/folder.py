"""The folder of sessions: its disk, list and warnings, earlier visits, what a kill left there."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
import shlex
import stat
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from screen_tui.errors import FileRefusedError, NotFoundError, ScreenError
from screen_tui.files.lock import is_held
from screen_tui.files.toml import MOST_BYTES, TomlDocument, read_own, read_toml, toml_files
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.file import check_against, session_in
from screen_tui.session.model import Client, Session, label_key, new_session_id


class KnownFolder:
    """Remembers the disk a folder lay on.

    A folder that was removed is made again where it was. One that is gone together with its disk,
    such as a stick that was taken out, is not: it would come to be on another disk, where nobody
    looks for it and where patient data may not be meant to lie.

    Attributes:
        made_again: Whether it was gone and had to be made again; set back by what says so.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.made_again = False
        self._disk: int | None = None

    def see(self) -> None:
        with contextlib.suppress(OSError):
            self._disk = self.path.stat().st_dev

    def make(self) -> None:
        """Make it where it is missing, for its owner alone.

        Raises:
            OSError: It cannot be made; with ``ENODEV`` when it is gone with its disk.
        """
        if not self.path.exists():
            if self._disk is not None and self._disk != _disk_around(self.path):
                raise OSError(errno.ENODEV, os.strerror(errno.ENODEV), str(self.path))
            self.path.mkdir(mode=0o700, parents=True, exist_ok=True)
            self.made_again = self.made_again or self._disk is not None
        elif not self.path.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(self.path))
        self.see()


def free_id(
    now: datetime, file_of: Callable[[str], Path], random_hex: Callable[[], str] | None
) -> str:
    """An id for what begins now and that no file of a folder bears, whatever the clock showed."""
    draw = random_hex or (lambda: secrets.token_hex(2))
    while True:
        found = new_session_id(now, draw())
        if not os.path.lexists(file_of(found)):
            return found


def _disk_around(path: Path) -> int | None:
    for around in path.absolute().parents:
        with contextlib.suppress(OSError):
            return around.stat().st_dev
    return None


NEWEST = 200
"""So many sessions are read for a list; older ones are read when somebody searches for them."""


@dataclass(frozen=True, slots=True)
class SessionSummary:
    """One line of the list of sessions.

    Attributes:
        problem: Why the file cannot be used; then nothing else but ``id`` and ``path`` means
            anything.
        open_elsewhere: Whether another window has the session; asked for unfinished ones only.
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
    """Some sessions of a folder, the latest first, and how many older files were not read."""

    sessions: tuple[SessionSummary, ...]
    older: int


def is_draft(path: Path) -> bool:
    """Whether a file of the folder of sessions is a draft, by its name."""
    return re.fullmatch(r"draft(-\d+)?\.toml", path.name) is not None


def list_sessions(
    folder: Path,
    open_elsewhere: Callable[[str], bool],
    wanted: str = "",
    *,
    most: int | None = None,
    links: bool = False,
) -> Listed:
    """The newest sessions whose label or date holds some words, by the names of their files.

    Args:
        wanted: A part of a label or of a date such as 2026-03; case does not matter.
        most: At most so many are given; None for all.
        links: Whether links are read; only where nothing is ever saved.

    Raises:
        FileRefusedError: The folder cannot be read.
    """
    wanted = label_key(wanted)
    # What TOML may write in another way is left to the reading.
    plain = max(re.split(r'["\\]', wanted), key=len)
    files = [path for path in toml_files(folder, "the folder of sessions") if not is_draft(path)]
    found: list[SessionSummary] = []
    older = 0
    for place, path in enumerate(reversed(files)):
        if len(found) == most:
            older = len(files) - place
            break
        if wanted and not _holds(path, plain):
            continue
        summary = _summary(path, open_elsewhere, links=links)
        if summary.problem or wanted in searched(summary):
            found.append(summary)
    usable = [summary for summary in found if summary.started]
    usable.sort(key=lambda summary: (summary.started, summary.id), reverse=True)
    unusable = [summary for summary in found if not summary.started]
    return Listed((*usable, *sorted(unusable, key=lambda summary: summary.path)), older)


def searched(summary: SessionSummary) -> str:
    """The words a search looks at: the label and the date."""
    date = summary.started.date().isoformat() if summary.started else ""
    return f"{label_key(summary.label)} {date}"


def _holds(path: Path, plain: str) -> bool:
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


def _summary(
    path: Path, open_elsewhere: Callable[[str], bool], *, links: bool = False
) -> SessionSummary:
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


FURTHEST_BACK = 12
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


class EarlierVisits(NamedTuple):
    """The visits a session follows, the newest first.

    ``lacks`` is the id of the one that comes next and is not among them, and why; else empty.
    """

    visits: tuple[Session, ...]
    lacks: str = ""


def prior_visits(session: Session, folder: Path, protocol: ScreenProtocol) -> EarlierVisits:
    """Go back from a session as far as there is anything to read."""
    found: list[Session] = []
    last = session
    while last.follows and last.follows not in {session.id, *(one.id for one in found)}:
        if len(found) == FURTHEST_BACK:
            why = f"No more than {FURTHEST_BACK} visits back are looked at."
            return EarlierVisits(tuple(found), f"{last.follows}. {why}")
        try:
            last = read_prior_visit(last.follows, last.client, folder, protocol)
        except ScreenError as error:
            return EarlierVisits(tuple(found), f"{last.follows}. {error}")
        found.append(last)
    return EarlierVisits(tuple(found))


def visits_back_from(
    first: Session | None, folder: Path, protocol: ScreenProtocol
) -> tuple[Session, ...]:
    """A session, the one it follows in its turn, and so on, as far as they can be read."""
    if first is None:
        return ()
    return (first, *prior_visits(first, folder, protocol).visits)[:FURTHEST_BACK]


_OTHERS = stat.S_IRWXG | stat.S_IRWXO
_CLOCKS_DIFFER = timedelta(days=1)
"""By so much two clocks differ only when one of them is wrong; time zones do not count."""


def folder_warnings(
    folder: Path, sessions: Iterable[SessionSummary], now: datetime
) -> tuple[str, ...]:
    """What a person should know about the folder though all in it can be used, as sentences."""
    sentences = (open_to_others(folder), clock_set_back(sessions, now))
    return tuple(sentence for sentence in sentences if sentence)


def open_to_others(folder: Path) -> str:
    """Say that others may read patient data, and what mends it; empty when they may not.

    Nothing is mended here: the person may have given these permissions on purpose. Windows has no
    such modes; there the folder takes the permissions of the person's profile.
    """
    if os.name != "posix":
        return ""
    try:
        mode = stat.S_IMODE(folder.stat().st_mode)
        files = sum(_is_open(path) for path in folder.iterdir())
    except OSError:
        return ""
    found = []
    if mode & _OTHERS:
        found.append(f"the folder {folder} (mode {mode:03o})")
    if files:
        found.append(f"{files} {'file' if files == 1 else 'files'} in {'it' if found else folder}")
    if not found:
        return ""
    return (
        f"Other accounts of this computer are let into {' and '.join(found)}. This shuts them out: "
        f"chmod -R go= {shlex.quote(str(folder))} (a stick may keep no such permissions)"
    )


def _is_open(path: Path) -> bool:
    try:
        mode = path.lstat().st_mode
    except OSError:
        return False
    return stat.S_ISREG(mode) and bool(mode & _OTHERS)


def clock_set_back(sessions: Iterable[SessionSummary], now: datetime) -> str:
    """Say that a session is later than the clock; empty when none is."""
    moments = [
        moment for one in sessions for moment in (one.started, one.finished) if moment is not None
    ]
    if not moments or max(moments) - now < _CLOCKS_DIFFER:
        return ""
    return (
        f"The clock of this computer shows {now:%Y-%m-%d %H:%M}, but a session here is of "
        f"{max(moments):%Y-%m-%d %H:%M}. If the clock is wrong, set it before a new session: "
        "sessions are listed by their dates."
    )


SUPERSEDED_AFTER_S = 60.0
"""A write takes well under a second; one that is a minute older than the file is not under way."""

_LOCK = re.compile(r"\.[0-9a-z][0-9a-z-]{0,63}\.lock")
_TEMPORARY = re.compile(r"\.(?P<stem>.+)-[a-z0-9_]{8}\.tmp")


def remove_stale_files(folder: Path) -> None:
    """Remove temporary files of saves that were cut short and have since been made good.

    A temporary file goes only when the file it was to become was written a minute or more after
    it. Without such a file, or with an older one, it may hold the last thing that was entered, and
    stays. What cannot be looked at or removed stays, too. The file of a lock goes when nobody holds
    the lock; it would shut nobody out.
    """
    with contextlib.suppress(OSError):
        for path in sorted(folder.iterdir()):
            if _LOCK.fullmatch(path.name):
                is_held(path)  # which removes it when it is not
            named = _TEMPORARY.fullmatch(path.name)
            if named:
                with contextlib.suppress(OSError):
                    if _is_superseded(path, folder / f"{named['stem']}.toml"):
                        path.unlink()


def _is_superseded(temporary: Path, target: Path) -> bool:
    left, saved = temporary.lstat(), target.lstat()
    ordinary = stat.S_ISREG(left.st_mode) and stat.S_ISREG(saved.st_mode)
    return ordinary and saved.st_mtime - left.st_mtime >= SUPERSEDED_AFTER_S
