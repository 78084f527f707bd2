"""What is typed or told while the program opens, in a real terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from support.terminal import Terminal

COMMAND = Path(sys.executable).parent / "screen-tui"

pytestmark = pytest.mark.pty


@contextmanager
def started(home: Path, *arguments: str, env: dict[str, str] | None = None) -> Iterator[Terminal]:
    with Terminal(COMMAND, *arguments, home=home, env=env) as terminal:
        yield terminal


def test_keys_typed_before_anything_is_seen_answer_no_question(tmp_path: Path) -> None:
    with started(tmp_path) as terminal:
        terminal.child.send("nnnnnnnn")
        terminal.wait_for("Before testing")
        terminal.drain(1.0)
        assert "35 open" in terminal.text
        assert not list((tmp_path / "sessions").glob("*"))
        terminal.press("l")
        terminal.wait_for("34 open")


def test_it_leaves_when_that_is_the_first_key(tmp_path: Path) -> None:
    with started(tmp_path) as terminal:
        terminal.child.send("q")
        assert terminal.wait_for_end() == 0


@pytest.mark.parametrize(
    ("broken", "told", "code"),
    [(False, "screen-tui:Thereisnofolder", 4), (True, "drivers.toml:1:drivers:", 3)],
)
def test_protocols_that_cannot_be_used_are_told(
    tmp_path: Path, broken: bool, told: str, code: int
) -> None:
    folder = tmp_path / "clinic"
    if broken:
        folder.mkdir()
        (folder / "drivers.toml").write_text("drivers = 1\n")
    with started(tmp_path, "--protocols", str(folder)) as terminal:
        assert terminal.wait_for_end() == code
        assert told in "".join(terminal.text.split())


def test_broken_preferences_are_told_on_the_screen_and_after_it(tmp_path: Path) -> None:
    (tmp_path / "preferences.toml").write_text('theme = "light"\nbell = 1\n')
    with started(tmp_path) as terminal:
        terminal.wait_for("Files that cannot be used")
        terminal.press("q")
        assert terminal.wait_for_end() == 0
        whole = "".join(terminal.text.split())
        assert "preferences.toml:2:bell:mustbetrueorfalse" in whole
        assert "sotheusualpreferenceshold" in whole


def test_no_color_is_heeded_from_the_first_page_on(tmp_path: Path) -> None:
    (tmp_path / "preferences.toml").write_text('theme = "light"\n')
    with started(tmp_path, env={"NO_COLOR": "1"}) as terminal:
        terminal.wait_for("New session")
        colours = {
            (cell.fg, cell.bg) for line in terminal.screen.buffer.values() for cell in line.values()
        }
        assert colours == {("default", "default")}
