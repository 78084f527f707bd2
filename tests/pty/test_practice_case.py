"""A whole practice case in a real terminal: the person must be referred, and it takes asking."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from support.form_keys import SHIPPED_NOT_ASKED
from support.terminal import Terminal

from screen_tui.practice.files import RunStore

pytestmark = pytest.mark.pty

COMMAND = Path(sys.executable).parent / "screen-tui"


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
def test_a_case_from_its_story_to_the_scores(tmp_path: Path, size: tuple[int, int]) -> None:
    with Terminal(COMMAND, home=tmp_path, size=size) as terminal:
        terminal.wait_for("practice")
        terminal.press("p")
        terminal.wait_for("A stiff knee since the holidays: not done yet")
        terminal.press("\x1b[B", "enter")
        terminal.wait_for("A man of 58 comes")
        terminal.press("enter")
        terminal.wait_for("Which knee")
        terminal.press("2")
        terminal.wait_for("Fit as a fiddle.")
        terminal.press("n", "n", "n", "n")
        terminal.wait_for("like a pulled muscle")
        assert "thicker" not in terminal.text
        terminal.press("h")
        terminal.wait_for("thicker")
        terminal.press("y")
        terminal.wait_for("REFER FIRST")
        terminal.press("enter")
        terminal.wait_for("No, it bends.")
        terminal.press(*["n"] * 9, "1", "enter")
        terminal.wait_for("What is the complaint")
        terminal.press("1", "4", "enter", "1", "4", "enter", *SHIPPED_NOT_ASKED)
        terminal.wait_for("REFER FIRST")
        terminal.wait_for("Enter ends the session")
        terminal.press("enter")
        terminal.wait_for("What is the answer?")
        terminal.press("4", "2", "5")
        terminal.wait_for("Enter commits to this.")
        terminal.press("enter")
        terminal.wait_for("As the author's.")
        terminal.press("enter")
        terminal.wait_for("Referred first, as had to be.")
        terminal.press("enter")
        terminal.wait_for("done once, 1 right")
        terminal.press("p")
        terminal.wait_for("Had to be referred first: 1; missed: 0.")
        terminal.press("b", "b", "q")
        assert terminal.wait_for_end() == 0
    (found,), problems = RunStore(tmp_path / "practice").found()
    assert not problems
    assert found.result.must_refer
    assert not found.result.refer_missed
    assert not list((tmp_path / "sessions").glob("*.toml"))
