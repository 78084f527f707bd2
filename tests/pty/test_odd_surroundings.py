"""Where the streams lead elsewhere, and variables of the environment that say odd things."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from support.terminal import Terminal

pytestmark = pytest.mark.pty

COMMAND = Path(sys.executable).parent / "screen-tui"
SHELL = Path("/bin/sh")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


def opens_and_leaves(terminal: Terminal) -> None:
    terminal.wait_for("New session")
    terminal.press("n")
    terminal.wait_for("Before testing")
    terminal.press("\x11")
    assert terminal.wait_for_end() == 0


@pytest.mark.parametrize("errors", ["&-", "/dev/null", "/dev/full", "errors.txt"])
def test_the_program_is_seen_wherever_standard_error_leads(home: Path, errors: str) -> None:
    home.mkdir()
    line = f"cd '{home}' && exec '{COMMAND}' 2>{errors}"
    with Terminal(SHELL, "-c", line, home=home) as terminal:
        opens_and_leaves(terminal)
    if errors == "errors.txt":
        assert (home / errors).read_bytes() == b""


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("TEXTUAL_DRIVER", "no_such_module:Driver"),
        ("TEXTUAL_COLOR_SYSTEM", "no such system"),
        ("TEXTUAL_LOG", "/no/such/folder/log.txt"),
    ],
)
def test_what_is_meant_for_developers_of_the_framework_changes_nothing(
    home: Path, name: str, value: str
) -> None:
    with Terminal(COMMAND, home=home, env={name: value}) as terminal:
        opens_and_leaves(terminal)


def test_no_log_of_the_keys_is_written(home: Path, tmp_path: Path) -> None:
    log = tmp_path / "log.txt"
    with Terminal(COMMAND, home=home, env={"TEXTUAL_LOG": str(log)}) as terminal:
        opens_and_leaves(terminal)
    assert not log.exists()


def test_lines_are_drawn_in_ascii_where_the_output_knows_no_others(home: Path) -> None:
    more = {"LC_ALL": "C.UTF-8", "PYTHONIOENCODING": "latin-1"}
    with Terminal(COMMAND, "--demo", home=home, env=more) as terminal:
        terminal.wait_for("New session")
        terminal.press("v", "enter")
        shown = terminal.wait_for("-- ")
        assert "\\u" not in shown
        assert shown.isascii()
