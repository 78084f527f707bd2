"""The commands that write a session in another form: what goes where, and how each of them ends."""

from __future__ import annotations

import csv
import io
import json
import stat
from pathlib import Path

import pytest
from support.note_case import note_protocol, note_session
from support.protocol_folder import write_session

from screen_tui.cli import main as cli


def run(*arguments: object) -> int:
    return cli.main([str(argument) for argument in arguments])


@pytest.fixture
def folder(tmp_path: Path, protocols: Path) -> Path:
    """A folder with two sessions of the small protocol, the older under the later name."""
    assert protocols.is_dir()
    sessions = tmp_path / "sessions"
    sessions.mkdir()
    digest = note_protocol().digest
    for name, label in (("b", "K-2"), ("a", "\u00c5sa")):
        session = note_session(
            id=f"2026-03-0{2 if name == 'a' else 3}-0915-7f3{name}",
            protocol_digest=digest,
            client={"label": label, "age": 67, "sex": "female"},
        )
        write_session(session, sessions / ("y.toml" if name == "a" else "x.toml"))
    return sessions


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_the_sheet_is_printed_and_nothing_else(
    session_file: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    assert run("sheet", session_file) == 0
    out, err = capfdbinary.readouterr()
    assert out.startswith(b"Your knee: what to do at home\n")
    assert out.endswith(b"____\n")
    assert err == b""


def test_the_sheet_as_a_page(session_file: Path, tmp_path: Path) -> None:
    target = tmp_path / "sheet.html"
    assert run("sheet", session_file, "--html", "-o", target) == 0
    assert target.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert stat.S_IMODE(target.stat().st_mode) == 0o600


def test_a_sheet_has_one_form(session_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("sheet", session_file, "--html", "--ascii") == 2
    assert "not both" in capsys.readouterr().err


def test_the_ascii_sheet_is_ascii(
    session_file: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    assert run("sheet", session_file, "--ascii") == 0
    assert capfdbinary.readouterr().out.isascii()


def test_the_bundle_is_json_in_a_file_of_ones_own(session_file: Path, tmp_path: Path) -> None:
    target = tmp_path / "bundle.json"
    assert run("export", session_file, "--fhir", "-o", target) == 0
    assert json.loads(target.read_bytes())["resourceType"] == "Bundle"
    assert stat.S_IMODE(target.stat().st_mode) == 0o600


@pytest.mark.parametrize("command", [["sheet"], ["export", "--fhir"]])
def test_what_is_there_is_replaced_only_when_asked_and_never_the_session(
    session_file: Path, tmp_path: Path, command: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    name, *options = command
    target = tmp_path / "out"
    target.write_text("mine", encoding="utf-8")
    assert run(name, session_file, *options, "-o", target) == 1
    assert target.read_text(encoding="utf-8") == "mine"
    assert "--force" in capsys.readouterr().err
    assert run(name, session_file, *options, "-o", target, "--force") == 0
    assert target.read_text(encoding="utf-8") != "mine"
    before = session_file.read_bytes()
    assert run(name, session_file, *options, "-o", session_file, "--force") == 1
    assert session_file.read_bytes() == before
    assert run(name, session_file, *options, "-o", tmp_path / "no" / "out") == 4


def test_the_table_holds_every_session_oldest_first_in_utf_8(
    folder: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    assert run("table", folder, "--csv") == 0
    out, err = capfdbinary.readouterr()
    assert err == b""
    assert out.count(b"\r\n") == out.count(b"\n") > 4
    found = rows(out.decode("utf-8"))
    assert list(dict.fromkeys(row["label"] for row in found)) == ["\u00c5sa", "K-2"]


def test_a_file_that_cannot_be_read_is_told_and_the_rest_is_written(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "broken.toml").write_text("format = \n", encoding="utf-8")
    (folder / "other.toml").write_text('answer = "no session"\n', encoding="utf-8")
    unknown = note_session(id="2026-03-04-0915-7f3c", trials=[{"test": "unheard-of"}])
    write_session(unknown, folder / "unknown.toml")
    nowhere = note_session(id="2026-03-04-0915-7f3d", protocol="nowhere")
    write_session(nowhere, folder / "nowhere.toml")
    target = tmp_path / "table.csv"
    assert run("table", folder, "--csv", "-o", target) == 3
    err = capsys.readouterr().err
    for name in ("broken.toml:1", "other.toml", "unknown.toml", "nowhere.toml"):
        assert name in err
    labels = {row["label"] for row in rows(target.read_bytes().decode("utf-8"))}
    assert labels == {"\u00c5sa", "K-2"}


def test_a_session_that_is_there_twice_is_counted_once(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (first, *_) = sorted(folder.glob("*.toml"))
    (folder / "zz-copy.toml").write_bytes(first.read_bytes())
    assert run("table", folder, "--csv") == 3
    out, err = capsys.readouterr()
    assert "zz-copy.toml" in err
    assert "counted once" in err
    done = [row for row in rows(out) if row["test"] == "rises" and row["measure"]]
    assert len(done) == 2


def test_drafts_hidden_files_and_other_files_are_passed_over(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("draft.toml", ".hidden.toml", "note.txt"):
        (folder / name).write_text("not = a session", encoding="utf-8")
    assert run("table", folder, "--csv") == 0
    assert capsys.readouterr().err == ""


def test_a_table_of_nothing_is_told(
    tmp_path: Path, protocols: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert protocols.is_dir()
    empty = tmp_path / "empty"
    empty.mkdir()
    assert run("table", empty, "--csv") == 4
    assert "no session in" in capsys.readouterr().err
    assert run("table", tmp_path / "no-such", "--csv") == 4


def test_the_table_never_replaces_a_session_it_was_made_from(folder: Path) -> None:
    (first, *_) = sorted(folder.glob("*.toml"))
    before = first.read_bytes()
    assert run("table", folder, "--csv", "-o", first, "--force") == 1
    assert first.read_bytes() == before


@pytest.mark.parametrize("arguments", [["table", "x"], ["export", "x"]])
def test_the_form_has_to_be_named(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        run(*arguments)
    assert left.value.code == 2
    assert "required" in capsys.readouterr().err
