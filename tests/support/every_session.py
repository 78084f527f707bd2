"""The sessions that every writer is tried with: those that ship, and the first of the cases."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from screen_tui.engine import Assessment, assess
from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.file import load_session
from screen_tui.session.model import Session

_VIGNETTES = Path(__file__).parent.parent / "vignettes"

_LAST_CASE = 178
"""Cases behind it are there for their answers; a writer meets nothing new in them."""

_CASES = [
    path
    for path in sorted(_VIGNETTES.glob("[0-9]*.toml"))
    if int(path.stem.partition("-")[0]) <= _LAST_CASE
]
SESSION_FILES = {path.stem: path for path in (*sorted(demo_folder().glob("*.toml")), *_CASES)}


@cache
def shipped_protocol() -> ScreenProtocol:
    return load_protocol([protocols_folder()])


@cache
def judged(name: str) -> tuple[ScreenProtocol, Session, Assessment]:
    """A session with the shipped protocol and what it comes to."""
    protocol, session = shipped_protocol(), load_session(SESSION_FILES[name])
    return protocol, session, assess(protocol, session)
