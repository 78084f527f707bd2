"""Keys that come faster than pages change, in a real pseudo-terminal: none ends the program."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from support import slow_disk
from support import small_protocol as small
from support.terminal import Terminal

from screen_tui.protocol.loader import DEFAULT_BATTERY
from screen_tui.session.file import load_session
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore

pytestmark = pytest.mark.pty

COMMAND = Path(sys.executable).parent / "screen-tui"
BETWEEN_KEYS_S = 0.15


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A folder with a session that can be resumed."""
    begun = small.session(protocol=DEFAULT_BATTERY, intake={"side": "left", "goals": ["walking"]})
    SessionStore(tmp_path / "sessions").save(begun)
    return tmp_path


def saved(home: Path) -> Session:
    (path,) = (home / "sessions").glob("2*.toml")
    return load_session(path)


def resume(terminal: Terminal) -> None:
    terminal.wait_for("K-001")
    terminal.press("1")
    terminal.wait_for("stop testing")


def leave(terminal: Terminal) -> None:
    terminal.child.send("\x03")
    assert terminal.wait_for_end() == 0


def test_leaving_a_session_and_beginning_another_in_one_write(home: Path) -> None:
    with Terminal(COMMAND, home=home) as terminal:
        resume(terminal)
        terminal.child.send("qn")
        terminal.wait_for("Before testing")
        leave(terminal)


def test_two_digits_in_one_write_where_one_stops_the_screen(home: Path) -> None:
    with Terminal(COMMAND, home=home) as terminal:
        resume(terminal)
        terminal.press("!")
        terminal.wait_for("STOP TESTING")
        terminal.child.send("12")
        terminal.wait_for("TESTING STOPPED")
        leave(terminal)
    assert saved(home).stopped


def test_skipping_and_going_on_while_a_slow_disk_writes(home: Path) -> None:
    script = str(slow_disk.__file__)
    with Terminal(Path(sys.executable), script, home=home) as terminal:
        resume(terminal)
        for key in "s1qn":
            terminal.child.send(key)
            terminal.drain(BETWEEN_KEYS_S)
        terminal.wait_for("Before testing")
        leave(terminal)
    assert len(saved(home).skipped) == 1


def test_the_first_ctrl_c_in_a_trial_asks_and_the_second_leaves(home: Path) -> None:
    with Terminal(COMMAND, home=home) as terminal:
        resume(terminal)
        terminal.press("1", "\x03")
        terminal.wait_for("Leave the program")
        leave(terminal)
    assert [trial.void for trial in saved(home).trials] == ["the program was ended"]
