"""A text pasted in a real pseudo-terminal, marked as a paste by the terminal."""

from __future__ import annotations

import signal
import sys
from pathlib import Path

import pytest
from support.form_keys import SHIPPED_NOT_ASKED
from support.short_screen import SAFE, answer_questions, measure_a_knee
from support.terminal import Terminal

from screen_tui.session.file import load_session

pytestmark = pytest.mark.pty

COMMAND = Path(sys.executable).parent / "screen-tui"


def pasted(text: str) -> str:
    """What a terminal sends for a paste."""
    return f"\x1b[200~{text}\x1b[201~"


def test_a_paste_into_a_note_typed_ahead_in_one_write(tmp_path: Path) -> None:
    home = tmp_path / "home"
    with Terminal(COMMAND, home=home) as terminal:
        answer_questions(terminal, load="5")
        measure_a_knee(terminal, "0", "1", then="LEFT LEG")
        terminal.press("v")
        terminal.wait_for("RIGHT LEG")
        terminal.child.send("mseen " + pasted("twice,\rk! é膝") + "\x1b[D\x1b[H* ")
        terminal.wait_for("> * ▏seen twice, k! é膝")
        terminal.press("enter")
        terminal.wait_for("Comment added.")
    (path,) = (home / "sessions").glob("*.toml")
    assert [trial.note for trial in load_session(path).trials] == ["* seen twice, k! é膝"]


def test_a_paste_before_testing_survives_a_kill(tmp_path: Path) -> None:
    home = tmp_path / "home"
    with Terminal(COMMAND, home=home, size=(60, 20)) as terminal:
        terminal.wait_for("New session")
        terminal.press("n")
        terminal.wait_for("Which knee")
        terminal.press(
            "1", *SAFE, "5", "enter", "enter", "1", "enter", "1", "enter", *SHIPPED_NOT_ASKED
        )
        terminal.wait_for("> Patient code")
        terminal.press(pasted("K-\u200b1"))
        terminal.wait_for("Nothing was pasted.")
        terminal.press(pasted("K-01"))
        terminal.wait_for("K-01▏")
        terminal.signal(signal.SIGKILL)
        terminal.wait_for_end()
    with Terminal(COMMAND, home=home, size=(60, 20)) as terminal:
        terminal.wait_for("Resume the questions (34 of 36 answered, K-01)")
