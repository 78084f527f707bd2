"""Opening the program, and how every end of it is told."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from screen_tui.cli import input as read_input
from screen_tui.cli import main as cli
from screen_tui.preferences import Opened
from screen_tui.tui import run as run_on_screen

THROWN_AWAY = "thrown away"


def run(*arguments: object) -> int:
    return cli.main([str(argument) for argument in arguments])


@pytest.mark.parametrize(
    "line", [["nonsense"], ["note"], ["assess", "--colour"], ["--demonstrate"]]
)
def test_a_line_that_makes_no_sense_ends_with_two(line: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        run(*line)
    assert ended.value.code == 2


def test_help_lists_the_exit_codes(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        run("--help")
    assert ended.value.code == 0
    out = capsys.readouterr().out
    for code in ("0", "1", "2", "3", "4", "130"):
        assert f"\n  {code:<5}" in out


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cli, "_in_a_terminal", lambda: True)
    monkeypatch.setenv("TERM", "xterm-256color")


def test_without_a_terminal_it_says_how_it_is_used(capsys: pytest.CaptureFixture[str]) -> None:
    assert run() == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("usage: screen-tui")


@pytest.mark.usefixtures("terminal")
def test_a_terminal_that_cannot_draw_is_told_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("TERM", "dumb")
    assert run() == 1
    assert "TERM=dumb" in capsys.readouterr().err


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[Opened]:
    """What the screens were opened with, in place of opening them."""
    calls: list[Opened] = []

    def run_app(opened: Opened) -> int:
        calls.append(opened)
        return 0

    monkeypatch.setattr(run_on_screen, "run_app", run_app)
    return calls


@pytest.mark.usefixtures("terminal", "protocols")
def test_without_a_command_the_program_opens_on_the_persons_own_sessions(
    opened: list[Opened],
) -> None:
    assert run() == 0
    assert opened[0].store.folder == Path(os.environ["SCREEN_TUI_HOME"]) / "sessions"
    assert opened[0].demo_folder is None


@pytest.mark.usefixtures("terminal", "protocols")
def test_a_demonstration_throws_away_what_is_recorded_and_says_so(
    opened: list[Opened], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("--demo") == 0
    folder = opened[0].store.folder
    assert not folder.exists()
    assert folder != Path(os.environ["SCREEN_TUI_HOME"]) / "sessions"
    assert isinstance(opened[0].demo_folder, Path)
    assert THROWN_AWAY in capsys.readouterr().err


@pytest.mark.usefixtures("terminal", "protocols")
def test_a_demonstration_keeps_what_is_recorded_where_asked(
    tmp_path: Path, opened: list[Opened], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("--demo", "--sessions", tmp_path / "kept") == 0
    assert opened[0].store.folder == tmp_path / "kept"
    err = capsys.readouterr().err
    assert str(tmp_path / "kept") in err
    assert THROWN_AWAY not in err


@pytest.mark.usefixtures("terminal", "opened")
def test_a_broken_protocol_is_told_with_its_line(
    protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (protocols / "drivers.toml").write_text("drivers = 1\n")
    assert run() == 3
    assert "drivers.toml:1: " in capsys.readouterr().err


def _raise(error: BaseException) -> None:
    raise error


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (KeyboardInterrupt(), 130),
        (BrokenPipeError(), 1),
        (OSError(28, "No space left on device"), 1),
        (RuntimeError("K-014 said something private"), 1),
    ],
)
def test_no_end_shows_a_traceback_or_what_a_patient_said(
    session_file: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    error: BaseException,
    code: int,
) -> None:
    monkeypatch.setattr(read_input, "assess", lambda *_: _raise(error))
    assert run("assess", session_file) == code
    err = capsys.readouterr().err
    assert "Traceback" not in err
    assert "private" not in err
    assert (err == "") == isinstance(error, KeyboardInterrupt | BrokenPipeError)


def test_a_file_name_cannot_steer_the_terminal(
    protocols: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert protocols.is_dir()
    assert run("assess", tmp_path / "\x1b[2Jgone.toml") == 4
    assert "\x1b" not in capsys.readouterr().err
