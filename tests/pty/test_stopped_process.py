"""A program that is stopped in a trial asks, once it goes on, whether the time is right."""

from __future__ import annotations

import re
import signal
import sys
from pathlib import Path

import pytest
from support.short_screen import answer_questions
from support.terminal import Terminal

from screen_tui.files.places import protocols_folder
from screen_tui.session.file import load_session
from screen_tui.session.model import Session

pytestmark = pytest.mark.pty

COMMAND = Path(sys.executable).parent / "screen-tui"
CAP_S = 3.0
"""Long enough to stop the program within it; as the protocol has it, it would be ten seconds."""
STOPPED_S = 2.0


def the_session(home: Path) -> Session:
    (path,) = (home / "sessions").glob("*.toml")
    return load_session(path)


@pytest.fixture
def short_stance(tmp_path: Path) -> Path:
    """A clinic's own folder, in which a tandem stance lasts three seconds."""
    shipped = (protocols_folder() / "tests" / "tandem-stance.toml").read_text(encoding="utf-8")
    folder = tmp_path / "own" / "tests"
    folder.mkdir(parents=True)
    own = shipped.replace("cap_s = 10", f"cap_s = {CAP_S}")
    assert own != shipped
    (folder / "tandem-stance.toml").write_text(own, encoding="utf-8")
    return folder.parent


def stopped_through_the_cap(terminal: Terminal) -> None:
    """Start a tandem stance, and stop the program over its end."""
    answer_questions(terminal, load="1")
    terminal.press("j")
    listed = re.search(r"(\w) +Tandem stance", terminal.wait_for("Tandem stance"))
    assert listed
    terminal.press(listed[1])
    terminal.wait_for("READY")
    terminal.press("space")
    terminal.wait_for("RUNNING")
    terminal.drain(CAP_S - 1.5)
    terminal.signal(signal.SIGSTOP)
    terminal.drain(STOPPED_S)
    terminal.signal(signal.SIGCONT)
    words = " ".join(terminal.wait_for("computer stopped for").split())
    told = re.search(r"stopped for (\d+\.\d) s", words)
    assert told
    assert float(told[1]) >= STOPPED_S - 0.1


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
def test_a_stance_through_which_the_program_stood_still(
    tmp_path: Path, short_stance: Path, size: tuple[int, int]
) -> None:
    home = tmp_path / "home"
    with Terminal(
        COMMAND, "--protocols", str(short_stance), home=home, size=size, env={"NO_COLOR": "1"}
    ) as terminal:
        stopped_through_the_cap(terminal)
        assert "ASKING" in terminal.text
        assert "Is the time right?" in " ".join(terminal.text.split())
        terminal.press("enter")
        terminal.drain(1.5)
        assert the_session(home).trials == ()
        terminal.press("y")
        terminal.wait_for("FULL TIME")
        terminal.press("enter")
        terminal.wait_for("Saved: ")
    (trial,) = the_session(home).trials
    assert (trial.value, trial.counts, trial.trust) == (CAP_S, True, ("stall",))
    assert "the computer stopped for " in trial.note
    assert trial.note.endswith("the time was confirmed")


def test_a_program_killed_while_it_asks_leaves_the_trial_unconfirmed(
    tmp_path: Path, short_stance: Path
) -> None:
    home = tmp_path / "home"
    with Terminal(COMMAND, "--protocols", str(short_stance), home=home) as terminal:
        stopped_through_the_cap(terminal)
        terminal.drain(0.5)
        terminal.signal(signal.SIGKILL)
        terminal.wait_for_end()
    told = the_session(home).under_way
    assert told is not None
    assert not told.counts
    with Terminal(COMMAND, "--protocols", str(short_stance), home=home) as terminal:
        terminal.wait_for("K-7")
        terminal.press("1")
        terminal.wait_for("was interrupted")
        words = " ".join(terminal.text.split())
        assert "the program ended before its value was confirmed" in words
    (trial,) = the_session(home).trials
    assert (trial.value, trial.counts) == (CAP_S, False)
