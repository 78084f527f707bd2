"""Nothing that comes over the terminal ends the program; and where reading fails, it is told."""

from __future__ import annotations

import signal
import sys
import termios
import time
from pathlib import Path

import pytest
from support.short_screen import SAFE, answer_questions, measure_a_knee
from support.terminal import Terminal

from screen_tui.session.file import load_session
from screen_tui.session.model import Session

pytestmark = pytest.mark.pty

COMMAND = Path(sys.executable).parent / "screen-tui"

SECRET = "K-7 fell on 3 March"
STUMBLES = f"""
import sys
from screen_tui.tui.terminal_input import InputReader
feed = InputReader.feed
def stumble(reader, data):
    if b"\\x07" in data:
        raise RuntimeError({SECRET!r})
    return feed(reader, data)
InputReader.feed = stumble
from screen_tui.__main__ import main
sys.exit(main([]))
"""
"""The program with a mistake in what reads the keys, which Ctrl-G brings out."""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


def the_session(home: Path) -> Session:
    (path,) = (home / "sessions").glob("*.toml")
    return load_session(path)


def local_modes(terminal: Terminal) -> int:
    """How the terminal treats what is typed, such as whether it shows it."""
    modes: int = termios.tcgetattr(terminal.child.child_fd)[3]
    return modes


def ends_within(terminal: Terminal, seconds: float) -> int | None:
    began = time.monotonic()
    code = terminal.wait_for_end()
    assert time.monotonic() - began < seconds
    return code


@pytest.mark.parametrize(
    "sent",
    [
        b"\xfc",
        b"\x1b[48;24;80;0;0t\x1b[<0;5;5M\x1b[<0;5;5m",
        b"\x1b[48;0;0;0;0t",
        b"\x1b[48;99999999;99999999;1;1t",
        b"\x1b[99999999u",
        b"\x1b[M \xe0\xe1",
    ],
)
def test_keys_go_on_after(sent: bytes, home: Path) -> None:
    with Terminal(COMMAND, home=home) as terminal:
        terminal.wait_for("New session")
        terminal.child.send(sent)
        terminal.drain(0.3)
        assert "New session" in terminal.text
        terminal.press("n")
        terminal.wait_for("Before testing")
        terminal.press("1", *SAFE, "5")
        terminal.wait_for("Weeks since")
        terminal.signal(signal.SIGTERM)
        assert terminal.wait_for_end() == 0


def test_a_letter_of_another_encoding_is_left_out_of_what_is_typed(home: Path) -> None:
    with Terminal(COMMAND, "--demo", home=home) as terminal:
        terminal.wait_for("New session")
        terminal.press("v")
        terminal.wait_for("search")
        terminal.press("/")
        terminal.wait_for("Search")
        for typed in (b"M", b"\xfc", b"d", b"\xe4", b"e", "ü".encode()):
            terminal.child.send(typed)
            terminal.drain(0.1)
        assert "Search  Mdeü" in terminal.wait_for("ü")
        terminal.signal(signal.SIGTERM)
        assert terminal.wait_for_end() == 0


def test_where_reading_fails_all_is_saved_and_told_in_a_sentence(home: Path) -> None:
    with Terminal(Path(sys.executable), "-c", STUMBLES, home=home) as terminal:
        before = local_modes(terminal)
        answer_questions(terminal, load="5")
        measure_a_knee(terminal, "0", "1", then="LEFT LEG")
        terminal.child.send(b"\x07")
        assert ends_within(terminal, 2.0) == 1
        assert local_modes(terminal) == before
        told = " ".join(terminal.text.split())
    assert "The program failed and closed itself" in told
    assert "Every change to the session had been saved." in told
    assert [trial.side for trial in the_session(home).trials] == ["right"]
    (report,) = home.glob("crash-*.txt")
    written = report.read_text(encoding="utf-8")
    assert "RuntimeError" in written
    assert "in stumble" in written
    assert SECRET not in written + told
    assert "Traceback" not in told
    assert "File " not in told


def test_after_a_stop_keys_are_read_once_at_their_time_and_the_end_is_not_put_off(
    home: Path,
) -> None:
    with Terminal(COMMAND, home=home) as terminal:
        answer_questions(terminal, load="1")
        for _ in range(3):
            stop_and_continue(terminal)
            terminal.wait_for("Knee extension")
        terminal.press(*"12")
        terminal.wait_for("straight: 12")
        terminal.press("backspace")
        terminal.wait_for("straight: 1▏")
        terminal.drain(1.0)
        terminal.press("backspace")
        terminal.wait_for("straight: ▏")
        while "Single-leg stance" not in terminal.text:
            terminal.press("s")
            terminal.wait_for("Skip this test")
            terminal.press("8")
            terminal.wait_for("left  K-7")
        terminal.wait_for("READY")
        began = time.perf_counter()
        terminal.child.send(" ")
        terminal.wait_for("RUNNING")
        stop_and_continue(terminal)
        terminal.drain(1.0)
        ended = time.perf_counter()
        terminal.child.send(" ")
        terminal.wait_for("STOPPED")
        terminal.press("enter")
        terminal.wait_for("Saved: ")
        terminal.signal(signal.SIGTERM)
        assert ends_within(terminal, 2.0) == 0
    (trial,) = the_session(home).trials
    assert trial.raw_value == pytest.approx(ended - began, abs=0.1)


def stop_and_continue(terminal: Terminal) -> None:
    """Stop the program without its knowing, and lose what the terminal shows."""
    terminal.signal(signal.SIGSTOP)
    time.sleep(0.2)
    terminal.screen.reset()
    terminal.signal(signal.SIGCONT)


def test_a_stop_that_is_asked_for_gives_the_terminal_back_until_it_ends(home: Path) -> None:
    with Terminal(COMMAND, home=home) as terminal:
        before = local_modes(terminal)
        answer_questions(terminal, load="5")
        reading = local_modes(terminal)
        assert reading != before
        for _ in range(2):
            terminal.signal(signal.SIGTSTP)
            until = time.monotonic() + 10
            while state(terminal) != "T":
                assert time.monotonic() < until
                terminal.drain()
            assert local_modes(terminal) == before
            terminal.screen.reset()
            terminal.signal(signal.SIGCONT)
            terminal.wait_for("Knee extension")
            assert local_modes(terminal) == reading
        measure_a_knee(terminal, "0", "1", then="LEFT LEG")
        terminal.signal(signal.SIGTERM)
        assert ends_within(terminal, 2.0) == 0
        assert local_modes(terminal) == before
    assert [trial.active_deg for trial in the_session(home).trials] == [1]


def state(terminal: Terminal) -> str:
    stat = Path(f"/proc/{terminal.child.pid}/stat").read_text(encoding="ascii")
    return stat.rsplit(")", 1)[1].split()[0]


def test_a_mouse_that_was_read_in_pixels_is_given_back_in_cells(home: Path) -> None:
    with Terminal(COMMAND, home=home) as terminal:
        terminal.wait_for("New session")
        drawn = bytearray()
        take = terminal._take
        terminal._take = lambda more: (drawn.extend(more), take(more))[1]  # type: ignore[method-assign]
        terminal.child.send(b"\x1b[?2048;2$y\x1b[48;24;80;480;800t")
        terminal.wait_until(lambda: b"\x1b[?1016h" in drawn, "the mouse in pixels")
        terminal.child.send(b"\x11")
        assert terminal.wait_for_end() == 0
    assert drawn.rfind(b"\x1b[?1016l") > drawn.rfind(b"\x1b[?1016h")
