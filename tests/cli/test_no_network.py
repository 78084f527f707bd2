"""No socket to anywhere and no other program, from Start to the note and in every command."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from screen_tui.cli import main as cli

SUPPORT = Path(__file__).parents[1] / "support"

COMMANDS = [
    "check DIR FILE",
    "assess FILE",
    "assess FILE --json",
    "explain FILE",
    "note FILE",
    "note FILE -o OUT",
    "note FILE --deidentify -o OUT",
    "sheet FILE --html",
    "sheet FILE -o OUT",
    "export FILE --fhir",
    "table DIR --csv -o OUT",
    "change FILE OTHER",
    "addendum OTHER --reason typing --text said",
    "visits --sessions DIR --list",
    "visits --sessions DIR DEMO-05",
    "practice list",
    "practice new --seed 1",
    "practice assign --count 2",
    "protocols",
    "protocols --json",
    "paths",
    "help",
    "help exports",
    "--protocols HOME paths",
]


def audited(what: str, home: Path) -> list[dict[str, Any]]:
    """Do something in a process of its own, and give what was seen of it."""
    report = home / "report.json"
    ended = subprocess.run(
        [sys.executable, SUPPORT / "audited.py", report, what, home],
        env={
            **os.environ,
            "SCREEN_TUI_HOME": str(home),
            "PYTHONPATH": str(SUPPORT.parent),
            "PYTHONDONTWRITEBYTECODE": "1",
        },
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    told: list[dict[str, Any]] = json.loads(report.read_text("utf-8"))
    return told


def outside(home: Path, written: list[str]) -> list[str]:
    """The files among those written that lie elsewhere; terminals and the bin are no files."""
    return [
        path
        for path in written
        if not Path(path).absolute().is_relative_to(home) and not path.startswith("/dev/")
    ]


def test_what_must_be_seen_is_seen(tmp_path: Path) -> None:
    (guilty,) = audited("guilty", tmp_path)
    assert {"socket.connect", "subprocess.Popen"} <= set(guilty["seen"])
    assert guilty["written"] == [str(tmp_path / "file")]


def test_a_whole_screen_talks_to_nobody_and_writes_into_its_own_folder(tmp_path: Path) -> None:
    (screen,) = audited("screen", tmp_path)
    assert screen["code"] == 0
    assert screen["seen"] == []
    assert outside(tmp_path, screen["written"]) == []
    (note,) = (tmp_path / "sessions" / "notes").iterdir()
    assert "K-7" in note.read_text("ascii")
    assert note.stat().st_mode & 0o077 == 0


def test_no_command_talks_to_anybody(tmp_path: Path) -> None:
    (tmp_path / "commands").write_text("\n".join(COMMANDS), encoding="utf-8")
    told = audited("commands", tmp_path)
    assert [one["what"] for one in told] == COMMANDS
    for one in told:
        assert one["code"] == 0, one
        assert one["seen"] == [], one
        assert outside(tmp_path, one["written"]) == [], one


def test_every_command_is_watched(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        cli.main(["nonsense"])
    offered = capsys.readouterr().err.split("choose from ")[1].split(")")[0].split(", ")
    watched = {word for line in COMMANDS for word in line.split()}
    assert {name.strip("'") for name in offered} <= watched
