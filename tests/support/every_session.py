"""Every session the project has: the invented ones it ships and the expert's cases."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from screen_tui.engine import Assessment, assess
from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import Protocol
from screen_tui.session.file import load_session
from screen_tui.session.model import Session

_VIGNETTES = Path(__file__).parent.parent / "vignettes"

SESSION_FILES = {
    path.stem: path
    for path in (*sorted(demo_folder().glob("*.toml")), *sorted(_VIGNETTES.glob("[0-9]*.toml")))
}


@cache
def shipped_protocol() -> Protocol:
    return load_protocol([protocols_folder()])


@cache
def judged(name: str) -> tuple[Protocol, Session, Assessment]:
    """A session with the shipped protocol and what it comes to."""
    protocol, session = shipped_protocol(), load_session(SESSION_FILES[name])
    return protocol, session, assess(protocol, session)
