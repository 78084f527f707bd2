"""What is read can be told to another program as JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from screen_tui.cli.main import main
from screen_tui.files.places import demo_folder

DEMO = str(demo_folder() / "runner-left-hip.toml")


def test_files_in_order_are_listed_with_their_kind(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", DEMO, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told == {"in_order": [{"path": DEMO, "kind": "session"}], "problems": []}


def test_what_is_wrong_is_given_with_file_line_and_field(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = Path(DEMO).read_text(encoding="utf-8")
    broken = tmp_path / "broken.toml"
    broken.write_text(text.replace("age = 34", 'age = "34"'), encoding="utf-8")
    assert main(["check", str(broken), "--json"]) == 3
    out = capsys.readouterr()
    (problem,) = json.loads(out.out)["problems"]
    line = 1 + text[: text.index("age = 34")].count("\n")
    assert problem["path"] == str(broken)
    assert (problem["line"], problem["field"]) == (line, "client.age")
    assert "must be a whole number" in problem["reason"]
    assert f"broken.toml:{line}: client.age" in out.err


def test_the_steps_of_an_explanation_are_given_one_by_one(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["explain", DEMO]) == 0
    plain = capsys.readouterr().out
    assert main(["explain", DEMO, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["steps"] == plain.rstrip("\n").split("\n")
