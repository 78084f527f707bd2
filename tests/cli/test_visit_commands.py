"""The commands about visits: what they print, what they leave out, and how they end."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from support.protocol_folder import write_session
from support.visit_case import rises, stance, three_visits, visit

from screen_tui.cli import main as cli
from screen_tui.report.layout import PAPER
from screen_tui.session.model import Session

Captured = pytest.CaptureFixture[str]


def run(*arguments: object) -> int:
    return cli.main([str(argument) for argument in arguments])


def keep(folder: Path, *sessions: Session) -> Path:
    folder.mkdir(exist_ok=True)
    for session in sessions:
        write_session(session, folder / f"{session.id}.toml")
    return folder


@pytest.fixture
def folder(tmp_path: Path, protocols: Path) -> Path:
    """Three visits of K-014 and one of somebody else."""
    assert protocols.is_dir()
    other = visit(1, stance(9.0), id="2026-other", client={"label": "K-020", "age": 50})
    return keep(tmp_path / "sessions", *three_visits(), other)


def test_visits_prints_the_report_of_that_client_alone(folder: Path, capsys: Captured) -> None:
    assert run("visits", "K-014", "--sessions", folder) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Knee tests over time\n")
    assert "\n3      2026-05-11" in out
    assert "2026-other" not in out
    assert max(map(len, out.splitlines())) <= PAPER
    assert err == ""


@pytest.mark.parametrize("label", ["k-014", " K-014 "])
def test_the_label_is_found_whatever_its_case(folder: Path, capsys: Captured, label: str) -> None:
    assert run("--sessions", folder, "visits", label) == 0
    assert "Patient code: K-014" in capsys.readouterr().out


def test_visits_as_json_is_a_list_of_clients(folder: Path, capsys: Captured) -> None:
    assert run("visits", "K-014", "--sessions", folder, "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert data["schema_version"] == 2
    (client,) = data["clients"]
    assert len(client["visits"]) == 3


def test_an_invented_person_of_the_same_label_is_told_apart(folder: Path, capsys: Captured) -> None:
    keep(folder, visit(4, stance(12.0), synthetic=False))
    assert run("visits", "K-014", "--sessions", folder, "--json") == 0
    clients = json.loads(capsys.readouterr().out)["clients"]
    assert [(one["synthetic"], len(one["visits"])) for one in clients] == [(False, 1), (True, 3)]
    assert run("visits", "K-014", "--sessions", folder) == 0
    assert capsys.readouterr().out.count("Knee tests over time") == 2


def test_the_list_names_every_label_with_its_visits_and_days(
    folder: Path, capsys: Captured
) -> None:
    assert run("visits", "--list", "--sessions", folder) == 0
    assert capsys.readouterr().out == (
        "K-014: 3 visits, invented\n"
        "  2026-03-02  2026-visit-1\n"
        "  2026-04-06  2026-visit-2  (not finished)\n"
        "  2026-05-11  2026-visit-3\n"
        "K-020: 1 visit, invented\n"
        "  2026-03-02  2026-other\n"
    )
    assert run("visits", "--list", "--json", "--sessions", folder) == 0
    clients = json.loads(capsys.readouterr().out)["clients"]
    assert [(one["label"], len(one["visits"])) for one in clients] == [("K-014", 3), ("K-020", 1)]


@pytest.mark.parametrize("arguments", [["K-999"], ["K-01"]])
def test_no_visit_of_that_label_ends_with_four(
    folder: Path, capsys: Captured, arguments: list[str]
) -> None:
    assert run("visits", *arguments, "--sessions", folder) == 4
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("screen-tui: There is no visit of ")


def test_a_list_of_nothing_ends_with_four(tmp_path: Path, capsys: Captured) -> None:
    assert run("visits", "--list", "--sessions", tmp_path / "nowhere") == 4
    assert "There is no session in" in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [[], ["K-014", "--list"]])
def test_a_label_or_the_list_must_be_asked_for(
    folder: Path, capsys: Captured, arguments: list[str]
) -> None:
    assert run("visits", *arguments, "--sessions", folder) == 2
    assert "code of a patient, or --list" in capsys.readouterr().err


def test_an_empty_label_is_wrong_usage(folder: Path, capsys: Captured) -> None:
    with pytest.raises(SystemExit, match="2"):
        run("visits", "", "--json", "--sessions", folder)
    assert "a name is needed, and this one is empty" in capsys.readouterr().err


def test_a_file_that_cannot_be_used_is_told_of_and_left_out(folder: Path, capsys: Captured) -> None:
    (folder / "2026-broken.toml").write_text("format = \n", encoding="utf-8")
    odd = visit(4, {"test": "hops", "value": 3.0})
    keep(folder, odd)
    assert run("visits", "K-014", "--sessions", folder) == 3
    out, err = capsys.readouterr()
    assert "\n3      " in out
    assert "Visit 4" not in out
    assert "2026-broken.toml:1" in err
    assert "2026-visit-4.toml" in err
    assert all(line.startswith("screen-tui: left out: ") for line in err.splitlines())
    assert run("visits", "--list", "--sessions", folder) == 3
    assert "K-014: 4 visits" in capsys.readouterr().out


def test_where_no_session_of_the_client_can_be_used_that_is_a_refusal(
    tmp_path: Path, protocols: Path, capsys: Captured
) -> None:
    assert protocols.is_dir()
    folder = keep(tmp_path / "sessions", visit(1, {"test": "hops", "value": 3.0}))
    assert run("visits", "K-014", "--sessions", folder) == 3
    assert "hops" in capsys.readouterr().err


# ------------------------------------------------------------------ two files


def files(folder: Path) -> list[Path]:
    return [folder / f"2026-visit-{number}.toml" for number in (1, 2, 3)]


def test_change_compares_two_files(folder: Path, capsys: Captured) -> None:
    first, _, third = files(folder)
    assert run("change", first, third) == 0
    out, err = capsys.readouterr()
    assert "6.2 to 14.0 s (+7.8 s): better beyond error" in " ".join(out.split())
    assert err == ""
    assert run("change", first, third, "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert (data["earlier"], data["later"]) == ("2026-visit-1", "2026-visit-3")


def test_the_earlier_visit_is_the_one_that_began_first(folder: Path, capsys: Captured) -> None:
    first, _, third = files(folder)
    assert run("change", third, first) == 0
    out, err = capsys.readouterr()
    assert "6.2 to 14.0 s" in " ".join(out.split())
    assert err == "screen-tui: the second file is the earlier visit; it is taken as such.\n"


def test_only_two_sessions_of_one_client_are_compared(folder: Path, capsys: Captured) -> None:
    first, second, _ = files(folder)
    assert run("change", first, folder / "2026-other.toml") == 2
    assert "different patient codes" in capsys.readouterr().err
    assert run("change", first, first) == 2
    assert "the same session" in capsys.readouterr().err
    keep(folder, visit(5, rises(12.0), synthetic=False))
    assert run("change", second, folder / "2026-visit-5.toml") == 2
    assert "invented" in capsys.readouterr().err


def test_a_missing_or_broken_file_ends_change(folder: Path, capsys: Captured) -> None:
    first, second, _ = files(folder)
    assert run("change", first, folder / "none.toml") == 4
    second.write_text("format = 99\n", encoding="utf-8")
    assert run("change", first, second) == 3
    assert "2026-visit-2.toml:1: format" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["visits", "change"])
def test_help_tells_the_arguments_and_the_exit_codes(command: str, capsys: Captured) -> None:
    with pytest.raises(SystemExit) as left:
        run(command, "--help")
    assert left.value.code == 0
    out = capsys.readouterr().out
    assert "--json" in out
    assert "exit codes:" in out
    assert ("CODE" if command == "visits" else "FILE2") in out


def retests(folder: Path) -> list[Path]:
    """The files of three visits, each of which follows the one before."""
    before, paths = "", []
    for session in three_visits():
        following = session.model_copy(update={"follows": before})
        keep(folder, following)
        paths.append(folder / f"{session.id}.toml")
        before = session.id
    return paths


def test_the_note_of_a_retest_tells_of_change_as_on_the_screen(
    tmp_path: Path, protocols: Path, capsys: Captured
) -> None:
    assert protocols.is_dir()
    first, _, last = retests(tmp_path / "sessions")
    assert run("note", last) == 0
    out, err = capsys.readouterr()
    assert "Change since 2026-03-02" in out
    assert err == ""
    assert run("note", first) == 0
    assert "Change since" not in capsys.readouterr().out


def test_what_comes_on_standard_input_follows_visits_of_the_usual_folder(
    tmp_path: Path, protocols: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert protocols.is_dir()
    folder = tmp_path / "sessions"
    *_, last = retests(folder)
    content = last.read_bytes()
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(content)))
    assert run("note", "-", "--sessions", folder) == 0
    assert "Change since 2026-03-02" in capsys.readouterr().out


def test_a_visit_that_does_not_lie_there_is_told_and_the_note_written(
    tmp_path: Path, protocols: Path, capsys: Captured
) -> None:
    assert protocols.is_dir()
    first, second, _ = retests(tmp_path / "sessions")
    first.unlink()
    assert run("note", second) == 0
    out, err = capsys.readouterr()
    assert "Knee note" in out
    assert "Change since" not in out
    assert err == (
        f"screen-tui: the note shows no change since the visit {first.stem}. There is no file "
        f"{first}.\n"
    )


def test_a_visit_that_cannot_be_used_is_told_too(
    tmp_path: Path, protocols: Path, capsys: Captured
) -> None:
    assert protocols.is_dir()
    first, second, _ = retests(tmp_path / "sessions")
    first.write_text("format = 3\nid = ", encoding="utf-8")
    assert run("note", second) == 0
    out, err = capsys.readouterr()
    assert "Change since" not in out
    assert f"no change since the visit {first.stem}. {first}:2: " in err


def test_more_visits_than_are_looked_at_is_told(
    tmp_path: Path, protocols: Path, capsys: Captured
) -> None:
    assert protocols.is_dir()
    folder, before = tmp_path / "sessions", ""
    for number in range(1, 16):
        session = visit(number, stance(9.0), id=f"v-{number}", follows=before)
        keep(folder, session)
        before = session.id
    assert run("note", folder / "v-15.toml") == 0
    out, err = capsys.readouterr()
    assert "Change since" in out
    assert err == (
        "screen-tui: the note shows no change since the visit v-2. No more than 12 visits "
        "back are looked at.\n"
    )


def test_a_note_without_who_it_is_says_nothing_of_other_visits(
    tmp_path: Path, protocols: Path, capsys: Captured
) -> None:
    assert protocols.is_dir()
    *_, last = retests(tmp_path / "sessions")
    assert run("note", last, "--deidentify") == 0
    out, err = capsys.readouterr()
    assert "Change since" not in out
    assert "2026-03-02" not in out + err
    assert "what changed since earlier visits" in err
