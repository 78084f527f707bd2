"""The commands: what they print where, and with which exit code they end."""

from __future__ import annotations

import io
import json
import os
import re
import stat
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest
from support.note_case import note_session
from support.protocol_folder import write_session

from screen_tui.cli import main as cli
from screen_tui.report.layout import PAPER


def run(*arguments: object) -> int:
    return cli.main([str(argument) for argument in arguments])


def test_assess_prints_for_a_person_and_defers(
    session_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("assess", session_file) == 0
    out, err = capsys.readouterr()
    assert out.startswith("POSSIBLE hip control, left\n")
    assert re.search(r"stance +6\.2 s, worse +45\.0 s, meets +at least 10\.0 s", out)
    assert "Not a diagnosis. Rule-based; the licensed clinician and local policy decide." in out
    assert all(len(line) <= PAPER for line in out.splitlines())
    assert err == ""


def test_assess_prints_everything_as_json(
    session_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("assess", session_file, "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert data["schema_version"] == 2
    assert data["results"][0]["standing"] == "short of the line"
    assert data["drivers"][0]["driver"] == "hip-control"


def test_explain_prints_the_chain_from_trial_to_verdict(
    session_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("explain", session_file) == 0
    out = capsys.readouterr().out
    headings = ["TRIALS", "RESULTS", "CHANCES", "ANSWER", "START"]
    assert [line for line in out.splitlines() if line in headings] == headings
    assert all(len(line) <= PAPER for line in out.splitlines())


def test_a_changed_protocol_is_remarked_on_beside_the_data_and_in_the_note(
    tmp_path: Path, protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert protocols.is_dir()
    old = write_session(note_session(protocol_digest="sha256:" + "0" * 64), tmp_path / "old.toml")
    assert run("assess", old, "--json") == 0
    out, err = capsys.readouterr()
    assert "read by today's" in err
    assert json.loads(out)["remarks"]
    assert run("note", old) == 0
    assert "read by today's" in " ".join(capsys.readouterr().out.split())


def test_the_note_goes_to_standard_output_unless_a_file_is_named(
    session_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("note", session_file) == 0
    printed = capsys.readouterr().out
    assert printed.startswith("Knee note - draft, not signed\n")
    assert run("note", session_file, "-o", "-") == 0
    assert capsys.readouterr().out.splitlines()[0] == "Knee note - draft, not signed"
    target = tmp_path / "note.txt"
    assert run("note", session_file, "-o", target) == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert str(target) in err
    content = target.read_bytes()
    assert b"\r" not in content
    assert content.startswith(b"Knee note - draft, not signed\n")


@pytest.mark.skipif(os.name != "posix", reason="file modes are a POSIX matter")
@pytest.mark.parametrize("force", [[], ["--force"]])
def test_only_the_owner_may_read_a_written_note(
    session_file: Path, tmp_path: Path, force: list[str]
) -> None:
    target = tmp_path / "note.txt"
    assert run("note", session_file, "-o", target, *force) == 0
    assert stat.S_IMODE(target.stat().st_mode) == 0o600


def test_an_existing_file_is_replaced_only_when_told_to(
    session_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "note.txt"
    target.write_text("dear to somebody")
    assert run("note", session_file, "-o", target) == 1
    assert target.read_text() == "dear to somebody"
    assert "--force" in capsys.readouterr().err
    assert run("note", session_file, "-o", target, "--force") == 0
    assert target.read_text().startswith("Knee note")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["note.txt", "protocols", "session.toml"]


def test_a_note_never_replaces_its_own_session(
    session_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = session_file.read_bytes()
    assert run("note", session_file, "-o", session_file, "--force") == 1
    assert session_file.read_bytes() == before
    assert "the session itself" in capsys.readouterr().err


def test_a_note_needs_a_folder_that_exists(session_file: Path, tmp_path: Path) -> None:
    assert run("note", session_file, "-o", tmp_path / "nowhere" / "note.txt") == 4


def test_a_device_or_folder_is_no_place_for_a_note(session_file: Path, tmp_path: Path) -> None:
    assert run("note", session_file, "-o", tmp_path, "--force") == 1
    assert tmp_path.is_dir()


def test_characters_without_a_plain_spelling_are_counted_aloud(
    tmp_path: Path, protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert protocols.is_dir()
    session = note_session(intake={"note": "\u819d hurts"})
    file = write_session(session, tmp_path / "session.toml")
    assert run("note", file) == 0
    out, err = capsys.readouterr()
    assert "? hurts" in out
    assert "1 character of the session" in err


def test_a_dash_reads_the_session_from_standard_input(
    session_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(session_file.read_bytes())))
    assert run("assess", "-", "--json") == 0
    assert json.loads(capsys.readouterr().out)["session"] == note_session().id


def test_broken_standard_input_is_refused_with_its_line(
    protocols: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert protocols.is_dir()
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"format = 1\nid = \n")))
    assert run("note", "-") == 3
    assert capsys.readouterr().err.startswith("standard input:2: ")


@pytest.mark.parametrize("command", [["assess"], ["assess", "--json"], ["note"], ["check"]])
def test_a_broken_session_is_refused_with_its_place_and_left_alone(
    session_file: Path, command: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    text = session_file.read_text().replace("age = 67", "age = 670")
    session_file.write_text(text)
    line = text.splitlines().index("age = 670") + 1
    assert run(*command, session_file) == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"{session_file}:{line}: client.age: ")
    assert "Traceback" not in err
    assert session_file.read_text() == text


@pytest.mark.parametrize("command", [["assess"], ["note"], ["check"]])
def test_a_file_that_is_not_there_ends_with_four(
    tmp_path: Path, protocols: Path, command: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert protocols.is_dir()
    assert run(*command, tmp_path / "gone.toml") == 4
    assert "gone.toml" in capsys.readouterr().err


def test_check_says_what_is_in_order(
    session_file: Path, protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("check", session_file, protocols) == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert f"{session_file}: session, in order" in err
    assert f"{protocols}: protocol folder, in order" in err


def test_check_refuses_a_broken_protocol_file(
    protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    test = protocols / "tests" / "stance.toml"
    test.write_text(test.read_text().replace("minutes = 2.0", "minutes = 200.0"))
    assert run("check", test) == 3
    assert f"{test}:" in capsys.readouterr().err


@pytest.mark.parametrize("after", [False, True])
def test_a_clinics_folder_comes_on_top_wherever_it_is_named(
    tmp_path: Path, protocols: Path, capsys: pytest.CaptureFixture[str], after: bool
) -> None:
    clinic = tmp_path / "clinic"
    (clinic / "tests").mkdir(parents=True)
    ours = (protocols / "tests" / "stance.toml").read_text()
    theirs = clinic / "tests" / "stance.toml"
    theirs.write_text(ours.replace("Single-leg stance", "Stance as we do it"))
    folder: Sequence[object] = ("--protocols", clinic)
    command = ("protocols", *folder) if after else (*folder, "protocols")
    assert run(*command, "--json") == 0
    data = json.loads(capsys.readouterr().out)
    entry = next(entry for entry in data["tests"] if entry["test"] == "stance")
    assert (entry["name"], entry["file"]) == ("Stance as we do it", str(theirs))
    assert data["folders"] == [str(protocols), str(clinic)]


def test_protocols_lists_each_test_with_its_file(
    protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("protocols") == 0
    out = capsys.readouterr().out
    expected = f"stance: Single-leg stance\n  {protocols / 'tests' / 'stance.toml'}\n"
    assert out.startswith(expected)


def test_paths_shows_where_sessions_go(
    tmp_path: Path, protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = tmp_path / "mine"
    assert run("paths", "--sessions", mine) == 0
    out = capsys.readouterr().out
    assert f"protocols: {protocols}\n" in out
    assert f"sessions: {mine}\n" in out
    assert run("--sessions", mine, "paths", "--json") == 0
    assert json.loads(capsys.readouterr().out)["sessions"] == str(mine)
