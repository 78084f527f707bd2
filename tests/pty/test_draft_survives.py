"""Killed without warning among the questions, in a real pseudo-terminal: the answers are there."""

from __future__ import annotations

import signal
import sys
from pathlib import Path

import pytest
from support.form_keys import SHIPPED_NOT_ASKED
from support.short_screen import SAFE
from support.terminal import Terminal

from screen_tui.session.file import load_session

pytestmark = pytest.mark.pty

COMMAND = Path(sys.executable).parent / "screen-tui"


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM, signal.SIGHUP])
@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
def test_the_next_start_offers_to_go_on_and_has_every_answer(
    tmp_path: Path, number: signal.Signals, size: tuple[int, int]
) -> None:
    home = tmp_path / "home"
    with Terminal(COMMAND, home=home, size=size) as terminal:
        terminal.wait_for("New session")
        terminal.press("n")
        terminal.wait_for("Which knee")
        terminal.press("1", *SAFE, "5", "enter", "enter", "1", "enter", "1", "enter")
        terminal.press(*SHIPPED_NOT_ASKED, *"K-01")
        terminal.wait_for("K-01▏")
        terminal.signal(number)
        expected = None if number is signal.SIGKILL else 0
        assert terminal.wait_for_end() == expected
    with Terminal(COMMAND, home=home, size=size, env={"NO_COLOR": "1"}) as terminal:
        terminal.wait_for("Resume the questions (34 of 36 answered, K-01)")
        terminal.press("1")
        terminal.wait_for("K-01▏")
        terminal.press("4", "enter")
        terminal.wait_for("> Age")
        terminal.press(*"67", "enter", "1", "enter")
        terminal.wait_for("Knee extension")
    (path,) = (home / "sessions").glob("*.toml")
    session = load_session(path)
    assert (session.client.label, session.client.age) == ("K-014", 67)
    assert session.intake.weight_bearing == "none"
    assert session.intake.side == "left"
