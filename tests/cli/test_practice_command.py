"""Patients drawn, listed, assigned and collected from the command line."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from support.practice_case import PROTOCOL, case_data, load_case, said, write_case
from support.students import (
    perfect_commitment,
    perfect_session,
    sloppy_commitment,
    sloppy_session,
    thorough_interview,
)

from screen_tui.cli import practice
from screen_tui.cli.main import main
from screen_tui.files.places import own_cases_folder
from screen_tui.practice.case import Case, Interview
from screen_tui.practice.drawn import drawn_case
from screen_tui.practice.files import RunStore, assignment_text, load_practice, run_text
from screen_tui.practice.run import Assignment, PracticeRun, ToDraw, finished_run
from screen_tui.practice.scoring import score

BEGUN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SCREEN_TUI_HOME", str(tmp_path / "home"))
    return tmp_path


def test_the_same_seed_writes_the_same_patient_and_the_file_is_in_order(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["practice", "new", "--driver", "balance", "--difficulty", "middle", "--seed", "4"]
    target = tmp_path / "for-monday.toml"
    assert main([*asked, "-o", str(target)]) == 0
    assert main([*asked]) == 0
    assert capsys.readouterr().out
    written = load_case(target, PROTOCOL)
    drawn = drawn_case(PROTOCOL, "middle", 4, "balance")
    assert written == drawn.model_copy(update={"id": "for-monday"})
    assert main(["check", str(target)]) == 0
    told = capsys.readouterr().err
    assert "the program answers: " in told
    assert "offered and not shown: none" in told


def test_somebody_who_must_be_referred_first_can_be_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "for-monday.toml"
    assert main(["practice", "new", "--driver", "refer-first", "-o", str(target)]) == 0
    assert load_case(target, PROTOCOL).truth.outcome == "refer-first"
    assert main(["practice", "assign", "--driver", "refer-first", "--count", "3"]) == 0
    assert capsys.readouterr().out.count("seed = ") == 3


def test_a_seed_that_was_not_given_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["practice", "new", "--driver", "hip-control"]) == 0
    assert "the seed was" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("line", "code", "words"),
    [
        ("new --driver blance", 4, "did you mean"),
        ("new --seed 1 -o Some_Case.toml", 4, "cannot name a case"),
        ("assign", 4, "Nothing to assign"),
        ("assign --case no-such-case", 4, "is no case"),
        ("table NOWHERE --csv", 4, "There is no folder"),
    ],
)
def test_what_cannot_be_done_is_named_in_a_sentence(
    line: str, code: int, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["practice", *line.split()]) == code
    assert words in capsys.readouterr().err


@pytest.mark.parametrize("line", ["new --seed x", "new --seed 1000000", "assign --count 0"])
def test_numbers_that_make_no_sense_are_refused(line: str) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["practice", *line.split()])
    assert ended.value.code == 2


def test_a_list_for_a_class_hides_the_driver_and_comes_first(
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder = own_cases_folder()
    folder.mkdir(parents=True)
    target = folder / "week-three.toml"
    asked = ["practice", "assign", "--case", "low-sofa", "--count", "3", "--driver", "balance"]
    assert main([*asked, "--seed", "50", "-o", str(target)]) == 0
    assert "balance" not in target.read_text(encoding="utf-8")
    assert main(["check", str(target)]) == 0
    assert main(["practice", "list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("low-sofa: ")
    assert all(line.startswith("patient-") for line in lines[1:4])
    assert len([line for line in lines if line.startswith("low-sofa")]) == 1


def test_what_a_teacher_hands_out_is_taken_and_comes_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    week, own = tmp_path / "week.toml", write_case(case_data(), tmp_path / "handed-out")
    asked = ["practice", "assign", "--case", "low-sofa", "--count", "1", "-o", str(week)]
    assert main(asked) == 0
    for _ in range(2):  # taking the same again changes nothing
        assert main(["practice", "take", str(week), str(own.parent)]) == 0
    assert f"2 taken into {own_cases_folder()}" in capsys.readouterr().err
    assert (own_cases_folder() / "week.toml").read_bytes() == week.read_bytes()
    assert main(["practice", "list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("low-sofa: ")
    assert lines[1].startswith("patient-")
    assert any(line.startswith("small-case: ") for line in lines)


def test_what_cannot_be_taken_is_named_and_the_rest_is_taken(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good = write_case(case_data(), tmp_path)
    bad = tmp_path / "week.toml"
    bad.write_text("practice_assignment = 1\ntitle = 3\n", encoding="utf-8")
    assert main(["practice", "take", str(bad), str(tmp_path / "none.toml"), str(good)]) == 4
    said_of = capsys.readouterr().err
    assert f"{bad}:2: title" in said_of
    assert "none.toml" in said_of
    assert "1 taken into" in said_of
    good.write_text(good.read_text(encoding="utf-8") + "# changed\n", encoding="utf-8")
    assert main(["practice", "take", str(good)]) == 1
    assert "is there already and was left as it is" in capsys.readouterr().err


def test_a_list_that_names_a_case_nobody_has_is_named(tmp_path: Path) -> None:
    text = 'practice_assignment = 1\ntitle = "Week"\ncases = ["gone-case"]\n'
    (tmp_path / "week.toml").write_text(text, encoding="utf-8")
    found = load_practice([tmp_path], PROTOCOL)
    assert found.patients == ()
    assert "there is no case gone-case" in found.problems[0]


def test_nobody_is_drawn_from_a_protocol_without_drivers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    bare = PROTOCOL.model_copy(update={"drivers": ()})
    monkeypatch.setattr(practice, "load_protocol", lambda *_: bare)
    for line in ("new", "assign --count 2"):
        assert main(["practice", *line.split()]) == 4
        assert "names no drivers" in capsys.readouterr().err
    listed = Assignment(title="Week", drawn=(ToDraw(difficulty="easy", seed=1),))
    (tmp_path / "week.toml").write_text(assignment_text(listed), encoding="utf-8")
    found = load_practice([tmp_path], bare)
    assert found.patients == ()
    assert "names no drivers" in found.problems[0]


def test_a_case_that_contradicts_the_network_is_refused_with_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    truth = {
        "outcome": "likely",
        "drivers": [{"driver": "balance"}],
        "reasons": ["Because I say so."],
    }
    path = write_case(case_data(truth=truth, said=said()), tmp_path)
    assert main(["check", str(path)]) == 3
    told = capsys.readouterr().err
    assert "truth.outcome" in told
    assert "contradicts the network: the program answers" in told
    reason = {**truth, "engine_differs": "One stance alone decides nothing."}
    path = write_case(case_data(truth=reason, said=said()), tmp_path)
    assert main(["check", str(path)]) == 0


# ------------------------------------------------------------------ a class

CASE = drawn_case(PROTOCOL, "easy", 1, "hip-control")
SECOND = drawn_case(PROTOCOL, "easy", 2, "balance")


def handed_in(
    student: str, number: int, case: Case = CASE, *, sloppy: bool = False, series: str = ""
) -> PracticeRun:
    done = (sloppy_session if sloppy else perfect_session)(case, PROTOCOL, number)
    begun = BEGUN + timedelta(minutes=number)
    session = done.model_copy(update={"id": f"2026-05-04-run-{number:03}", "started": begun})
    given = (sloppy_commitment if sloppy else perfect_commitment)(case)
    heard = Interview(case) if sloppy else thorough_interview(case)
    found = score(case, PROTOCOL, number, session, given, heard)
    end = begun + timedelta(minutes=14)
    return finished_run(case, number, session, heard, given, found, end, student, "figure", series)


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_a_class_of_thirty_is_collected_into_one_table(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for number in range(30):
        code = f"S-{number + 1:02}"
        store = RunStore(tmp_path / "handed-in" / code)
        first = handed_in(code, 2 * number, sloppy=number % 3 == 0)
        store.save(first)
        store.save(handed_in(code, 2 * number + 1, SECOND, series=first.series))
    assert main(["practice", "table", str(tmp_path / "handed-in"), "--csv"]) == 0
    told = capsys.readouterr()
    rows = rows_of(told.out)
    assert told.err == ""
    assert len(rows) == 60
    assert [row["student"] for row in rows] == sorted(row["student"] for row in rows)
    assert {row["student"] for row in rows} == {f"S-{n:02}" for n in range(1, 31)}
    first_runs = [row for row in rows if row["case"] == CASE.id]
    assert [row["right"] for row in first_runs] == ["no", "yes", "yes"] * 10
    good = next(row for row in first_runs if row["right"] == "yes")
    assert (good["needed_done"], good["misses"], good["mean_error_s"]) == (
        good["needed"],
        "0",
        "0.0",
    )
    assert good["minutes"] == "14.0"
    poor = next(row for row in first_runs if row["right"] == "no")
    assert float(poor["mean_error_s"]) >= 0.6


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Runs of two students."""
    store = RunStore(tmp_path / "runs")
    for number, code in enumerate(("S-01", "S-02"), start=1):
        store.save(handed_in(code, number))
    return store.folder


def collected(folder: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, set[str], str]:
    """The exit code, the students in the table, and what was told."""
    code = main(["practice", "table", str(folder), "--csv"])
    told = capsys.readouterr()
    return code, {row["student"] for row in rows_of(told.out)}, told.err


def test_one_code_at_two_computers_is_named_and_its_runs_are_told_apart(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = handed_in("S-02", 2)  # as in the folder
    elsewhere = handed_in("S-02", 3)
    for one in (elsewhere, handed_in("S-02", 4, SECOND, series=first.id)):
        RunStore(folder).save(one)
    assert main(["practice", "table", str(folder), "--csv"]) == 0
    table, said = capsys.readouterr()
    rows = rows_of(table)
    assert [(row["student"], row["series"]) for row in rows] == [
        ("S-01", "1"),
        ("S-02", "1"),
        ("S-02", "1"),
        ("S-02", "2"),
    ]
    assert rows[-1]["run"] == elsewhere.id
    (sentence,) = said.splitlines()
    assert "S-02 is the code of two students, or of one at two computers" in sentence


def test_a_run_changed_by_hand_is_named_and_left_out(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder / "2026-05-04-run-002.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("right = true", "right = false"), encoding="utf-8")
    code, students, told = collected(folder, capsys)
    assert (code, students) == (3, {"S-01"})
    assert "changed by hand" in told


def test_a_run_without_a_code_and_one_handed_in_twice_are_named(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    RunStore(folder).save(handed_in("", 5))
    copied = (folder / "2026-05-04-run-001.toml").read_bytes()
    (folder / "copy.toml").write_bytes(copied)
    code, students, told = collected(folder, capsys)
    assert (code, students) == (3, {"S-01", "S-02"})
    assert "has no student code" in told
    assert "counted once" in told


def test_a_run_without_a_seal_is_named(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bare = handed_in("S-03", 6).model_copy(update={"seal": ""})
    text = run_text(bare).replace("practice_run = 2", "practice_run = 1")
    (folder / f"{bare.id}.toml").write_text(text, encoding="utf-8")
    code, students, told = collected(folder, capsys)
    assert (code, students) == (3, {"S-01", "S-02"})
    assert "has no seal" in told


def test_a_folder_without_runs_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "empty").mkdir()
    assert main(["practice", "table", str(tmp_path / "empty"), "--csv"]) == 4
    assert "There is no practice run" in capsys.readouterr().err
