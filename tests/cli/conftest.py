"""A small protocol in place of the shipped one, and a session made with it."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.note_case import note_protocol, note_session
from support.protocol_folder import write_protocol, write_session

from screen_tui.cli import input as read_input
from screen_tui.files.places import preferences_file
from screen_tui.tui import run as run_on_screen


def prefer(text: str) -> Path:
    """Put a file of preferences in the home of the test."""
    path = preferences_file()
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def protocols(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small protocol in place of the shipped one."""
    folder = write_protocol(note_protocol(), tmp_path / "protocols")
    for module in (read_input, run_on_screen):
        monkeypatch.setattr(module, "protocols_folder", lambda: folder)
    prefer('protocol = "small"\n')
    return folder


@pytest.fixture
def session_file(tmp_path: Path, protocols: Path) -> Path:
    assert protocols.is_dir()
    session = note_session(protocol_digest=note_protocol().digest)
    return write_session(session, tmp_path / "session.toml")
