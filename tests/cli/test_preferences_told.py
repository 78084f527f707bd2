"""Preferences from the command line: where they lie, checking them, and folders they name."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from screen_tui.cli import main as cli
from screen_tui.files.places import preferences_file
from screen_tui.preferences import Opened, Preferences, save_value
from screen_tui.tui import run as run_on_screen


def run(*arguments: object) -> int:
    return cli.main([str(argument) for argument in arguments])


def prefer(text: str) -> Path:
    path = preferences_file()
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cli, "_in_a_terminal", lambda: True)
    monkeypatch.setenv("TERM", "xterm-256color")


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch, terminal: None) -> list[Opened]:
    """What the screens were opened with, in place of opening them."""
    del terminal
    calls: list[Opened] = []

    def run_app(opened: Opened) -> int:
        calls.append(opened)
        return 0

    monkeypatch.setattr(run_on_screen, "run_app", run_app)
    return calls


def test_paths_shows_where_preferences_lie(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("paths") == 0
    assert f"preferences: {preferences_file()}\n" in capsys.readouterr().out
    assert run("paths", "--json") == 0
    assert json.loads(capsys.readouterr().out)["preferences"] == str(preferences_file())


def test_check_accepts_a_file_of_preferences(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "other.toml").write_text('theme = "dark"\n')
    empty = prefer("# nothing yet\n")
    assert run("check", tmp_path / "other.toml", empty, empty.parent) == 0
    err = capsys.readouterr().err
    assert f"{tmp_path / 'other.toml'}: preferences, in order" in err
    assert err.count(f"{empty}: preferences, in order") == 2


def test_check_accepts_the_file_the_program_itself_writes(
    capsys: pytest.CaptureFixture[str],
) -> None:
    save_value(preferences_file(), "bell", False)
    assert run("check", preferences_file()) == 0
    assert f"{preferences_file()}: preferences, in order" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('bell = true\ntheme = "pink"\n', ":2: theme: must be one of"),
        ("belll = true\n", ":1: belll: is not a known field here"),
        ("bell =\n", ":1: the value is missing"),
        ('protocols = ["nowhere"]\n', ":1: protocols[0]: there is no folder"),
    ],
)
def test_check_refuses_broken_preferences_once(
    capsys: pytest.CaptureFixture[str], text: str, told: str
) -> None:
    path = prefer(text)
    assert run("check", path) == 3
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith(f"{path}{told}")
    assert path.read_text() == text


def test_a_session_that_says_which_protocol_is_still_a_session(
    session_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("check", session_file) == 0
    assert f"{session_file}: session, in order" in capsys.readouterr().err


def test_broken_preferences_are_told_and_stop_no_command(
    session_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("assess", session_file) == 0
    usual = capsys.readouterr().out
    path = prefer("bell = 1\n")
    assert run("assess", session_file) == 0
    out, err = capsys.readouterr()
    assert out == usual
    assert err.startswith(f"{path}:1: bell: must be true or false")
    assert "usual preferences hold" in err


def test_the_program_opens_with_what_is_preferred(opened: list[Opened]) -> None:
    path = prefer('bell = false\ntheme = "light"\n')
    assert run() == 0
    wished = opened[0].preferred
    assert (wished.path, wished.now) == (path, Preferences(bell=False, theme="light"))
    assert wished.problems == ()
    assert wished.batteries == ("chairside-knee",)


def test_broken_preferences_do_not_keep_the_program_from_opening(
    opened: list[Opened], capsys: pytest.CaptureFixture[str]
) -> None:
    path = prefer("bell = false\nflash = 2\n")
    assert run() == 0
    wished = opened[0].preferred
    assert wished.now == Preferences()
    (problem,) = wished.problems
    assert problem.startswith(f"{path}:2: flash: ")
    assert problem in capsys.readouterr().err


@pytest.mark.parametrize("text", ['protocols = ["gone"]\n', 'protocol = "hip"\n'])
def test_protocols_that_cannot_be_used_do_not_keep_the_program_from_opening(
    opened: list[Opened], capsys: pytest.CaptureFixture[str], text: str
) -> None:
    path = prefer(f"bell = false\n{text}")
    assert run() == 0
    wished = opened[0].preferred
    assert wished.now.bell is False
    assert opened[0].protocol.battery.id == "chairside-knee"
    first, second = wished.problems
    assert first.startswith(f"{path}: the protocols named there cannot be used")
    assert "There is no" in second
    assert capsys.readouterr().err.splitlines() == [first, second]


def test_a_clinics_folder_is_read_after_ours_and_before_the_command_line(
    tmp_path: Path, protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ours = (protocols / "tests" / "stance.toml").read_text()
    beside = preferences_file().parent / "clinic"
    asked = tmp_path / "asked"
    for folder, name in ((beside, "Stance of the clinic"), (asked, "Stance as asked")):
        (folder / "tests").mkdir(parents=True)
        theirs = ours.replace("Single-leg stance", name)
        (folder / "tests" / "stance.toml").write_text(theirs)
    prefer('protocol = "small"\nprotocols = ["clinic"]\n')
    assert run("protocols") == 0
    assert "Stance of the clinic" in capsys.readouterr().out
    assert run("protocols", "--protocols", asked) == 0
    assert "Stance as asked" in capsys.readouterr().out
    assert run("paths", "--protocols", asked) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[:3] == [f"protocols: {folder}" for folder in (protocols, beside, asked)]
