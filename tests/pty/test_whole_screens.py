"""A whole screen in a real terminal, every test of it, from Start to the note."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from support.terminal import Terminal
from support.whole_screen import PROTOCOL, seen, whole_screen_to_the_note

from screen_tui.protocol.tests import TestSpec
from screen_tui.session.file import load_session
from screen_tui.timing.kinds.measure import Measure

pytestmark = [pytest.mark.pty, pytest.mark.long]

COMMAND = Path(sys.executable).parent / "screen-tui"


def all_parts(terminal: Terminal) -> str:
    """What is read before a test, part by part where the window is too small for all of it."""
    text, parts = terminal.text, re.search(r"more, 1 of (\d+)", terminal.text)
    for at in range(2, int(parts[1]) + 1 if parts else 0):
        terminal.press("\x1b[B")
        text += terminal.wait_for(f"more, {at} of")
    if parts:
        terminal.press("\x1b[B")
        terminal.wait_for("more, 1 of")
    return text


def essentials(terminal: Terminal, spec: TestSpec) -> None:
    """What must stand on the screen of a test before it begins."""
    signs = {sign.id: sign.label for sign in PROTOCOL.signs}
    seen(terminal, "K-7", " min left", "!", *(signs[sign] for sign in spec.signs))
    text = terminal.text
    whose = ("RIGHT LEG", "LEFT LEG") if spec.sided else ("BOTH", "UP", "DOWN")
    assert any(word in text for word in whose), text
    if not isinstance(spec.timer, Measure):
        assert "Safety: " in text, text
        text = all_parts(terminal)
        assert "Ends when: " in text, text


@pytest.mark.parametrize(
    ("size", "env", "goals"),
    # Every goal in the usual window; in the smallest one goal, so that it stays within a minute.
    [((80, 24), {}, "1234"), ((60, 20), {"NO_COLOR": "1"}, "1")],
    ids=["80x24", "60x20-without-colour"],
)
def test_a_whole_screen_has_all_that_matters_on_every_page(
    tmp_path: Path, size: tuple[int, int], env: dict[str, str], goals: str
) -> None:
    with Terminal(COMMAND, home=tmp_path, size=size, env=env) as terminal:
        done = whole_screen_to_the_note(terminal, goals, before_each=essentials)
        if env:
            cells = [cell for row in terminal.screen.buffer.values() for cell in row.values()]
            assert {cell.fg for cell in cells} | {cell.bg for cell in cells} == {"default"}
        terminal.press("enter")
        seen(terminal, "New session")
        terminal.press("q")
        assert terminal.wait_for_end() == 0
    (path,) = (tmp_path / "sessions").glob("*.toml")
    session = load_session(path)
    assert {trial.test for trial in session.trials} == done
    assert len(done) >= (8 if len(goals) > 1 else 6)
    assert session.finished is not None
