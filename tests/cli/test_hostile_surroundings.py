"""Closed streams, odd locales and names that steer a terminal: told, and never a traceback."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from screen_tui.cli import main as cli
from screen_tui.files.toml import MOST_BYTES
from screen_tui.tui import run as run_on_screen

if os.name == "posix":
    import pwd

RED = "\x1b[31m"
DEMO = Path(__file__).parents[2] / "demo_sessions" / "runner-left-hip.toml"


def run(*arguments: object) -> int:
    return cli.main([str(argument) for argument in arguments])


def shell(command: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run a line of a shell in which ``$S`` is the program."""
    program = f"{sys.executable} -m screen_tui"
    return subprocess.run(
        ["sh", "-c", command.replace("$S", program)],
        env=os.environ | environment,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


@pytest.mark.skipif(os.name != "posix", reason="the lines are of a POSIX shell")
@pytest.mark.parametrize(
    ("command", "code", "told"),
    [
        (f"$S assess {DEMO} >&-", 1, "standard output is closed"),
        ("$S note - <&-", 4, "Standard input is closed"),
        ("$S <&-", 2, "needs a terminal"),
        (f"$S assess {DEMO} >/dev/full", 1, "No space left"),
    ],
)
def test_a_closed_or_full_stream_is_told_in_a_sentence(command: str, code: int, told: str) -> None:
    ended = shell(command)
    assert ended.returncode == code
    assert told in ended.stderr
    assert "mistake of its own" not in ended.stderr


@pytest.mark.skipif(os.name != "posix", reason="the lines are of a POSIX shell")
def test_messages_never_get_among_the_data_when_standard_error_is_closed() -> None:
    ended = shell(f"$S check {DEMO} 2>&-")
    assert (ended.returncode, ended.stdout) == (0, "")


@pytest.mark.skipif(os.name != "posix", reason="the lines are of a POSIX shell")
def test_a_reader_that_stops_reading_is_no_reason_for_a_message() -> None:
    ended = shell(f"$S note {DEMO} | head -c 1; $S assess {DEMO} --json | true")
    assert ended.stdout == "K"
    assert ended.stderr == ""


def test_a_locale_without_our_letters_does_not_stop_a_file_name(tmp_path: Path) -> None:
    named = tmp_path / "K\u00e9-\u6f22.toml"
    named.write_bytes(DEMO.read_bytes())
    ended = shell(f"$S check '{named}'", LC_ALL="C", PYTHONUTF8="0", PYTHONIOENCODING="ascii")
    assert ended.returncode == 0
    assert "in order" in ended.stderr


@pytest.mark.parametrize("command", ["paths", "protocols"])
def test_a_folder_name_cannot_steer_the_terminal_it_is_listed_on(
    tmp_path: Path, protocols: Path, command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    clinic = tmp_path / f"clinic{RED}"
    (clinic / "tests").mkdir(parents=True)
    ours = protocols / "tests" / "stance.toml"
    (clinic / "tests" / "stance.toml").write_bytes(ours.read_bytes())
    assert run("--protocols", clinic, command) == 0
    out = capsys.readouterr().out
    assert "\x1b" not in out
    assert "clinic?[31m" in out


@pytest.mark.parametrize("line", [["assess", "s.toml", f"--x{RED}"], [f"nonsense{RED}"]])
def test_a_refused_command_line_cannot_steer_the_terminal(
    line: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        run(*line)
    assert ended.value.code == 2
    assert "\x1b" not in capsys.readouterr().err


def test_a_line_break_in_a_name_makes_no_second_message(
    tmp_path: Path, protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert protocols.is_dir()
    broken = tmp_path / "a.toml\nb.toml: session, in order"
    broken.write_text("format = 1\n")
    assert run("check", broken) == 3
    assert not any(line.startswith("b.toml") for line in capsys.readouterr().err.splitlines())


@pytest.mark.parametrize(
    "line",
    [
        ["--sessions", "", "paths"],
        ["paths", "--sessions", ""],
        ["--protocols", "", "protocols"],
        ["check", ""],
        ["check", str(DEMO), ""],
        ["assess", ""],
        ["explain", ""],
        ["note", ""],
        ["note", str(DEMO), "-o", ""],
        ["note", str(DEMO), "--output="],
        ["sheet", ""],
        ["sheet", str(DEMO), "-o", ""],
        ["table", "", "--csv"],
        ["table", str(DEMO.parent), "--csv", "-o", ""],
        ["export", "", "--fhir"],
        ["export", str(DEMO), "--fhir", "-o", ""],
        ["visits", ""],
        ["change", "", str(DEMO)],
        ["change", str(DEMO), ""],
        ["addendum", "", "--reason", "asked", "--text", "x"],
    ],
)
def test_an_empty_name_is_refused_and_does_not_mean_the_folder_one_stands_in(
    line: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        run(*line)
    assert ended.value.code == 2
    assert "empty" in capsys.readouterr().err


@pytest.mark.skipif(os.name != "posix", reason="Windows keeps no list of homes")
@pytest.mark.parametrize("line", [["paths"], ["assess", str(DEMO)], ["visits", "--list"]])
def test_who_has_no_home_is_told_how_to_name_a_folder(
    line: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def unknown(_number: int) -> None:
        raise KeyError

    monkeypatch.setattr(pwd, "getpwuid", unknown)
    for name in ("HOME", "SCREEN_TUI_HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.delenv(name, raising=False)
    assert run(*line) == 4
    err = capsys.readouterr().err
    assert "There is no home folder of yours" in err
    assert "SCREEN_TUI_HOME" in err


def test_no_more_is_read_from_standard_input_than_a_session_can_be(
    protocols: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert protocols.is_dir()
    endless = io.BytesIO(b"#" * (MOST_BYTES + 1000))
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(endless))
    assert run("assess", "-") == 3
    assert endless.tell() < MOST_BYTES + 1000
    assert "larger than" in capsys.readouterr().err


def test_what_may_not_be_looked_at_is_named_in_the_refusal(
    tmp_path: Path, protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert protocols.is_dir()
    too_long = tmp_path / ("a" * 5000)
    assert run("check", too_long) == 3
    err = capsys.readouterr().err
    assert err.startswith(f"{too_long}: cannot be read: ")


def test_opening_the_program_clears_away_what_a_killed_one_left(
    tmp_path: Path, protocols: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert protocols.is_dir()
    monkeypatch.setattr(cli, "_in_a_terminal", lambda: True)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(run_on_screen, "run_app", lambda opened: 0 if opened else 1)
    saved, left = tmp_path / "day.toml", tmp_path / ".day-12345678.tmp"
    saved.touch()
    left.touch()
    os.utime(left, (0, 0))
    assert run("--sessions", tmp_path) == 0
    assert (saved.exists(), left.exists()) == (True, False)
