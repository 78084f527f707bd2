"""``screen-tui addendum``: a finished session's file grows, and everything reads it so."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from support.note_case import note_session
from support.protocol_folder import write_session

from screen_tui import written_papers
from screen_tui.cli import main as cli
from screen_tui.files import lock
from screen_tui.files.lock import take_lock
from screen_tui.report.note import MOST_LINES
from screen_tui.session.file import load_session
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore

Captured = pytest.CaptureFixture[str]


def run(*arguments: object) -> int:
    return cli.main(["addendum", *(str(argument) for argument in arguments)])


def refused(file: Path, capsys: Captured, *arguments: object) -> str:
    """What is told where nothing is added."""
    before = file.read_bytes()
    assert run(file, *arguments) != 0
    out, err = capsys.readouterr()
    assert out == ""
    assert file.read_bytes() == before
    return err


def test_a_value_is_corrected_and_what_was_added_is_printed(
    session_file: Path, capsys: Captured
) -> None:
    before = session_file.read_bytes()
    assert run(session_file, "--reason", "pressed late", "--trial", 1, "--value", "5,84") == 0
    out, err = capsys.readouterr()
    assert out.startswith("[[addenda]]\nwritten = ")
    assert out.endswith('\nreason = "pressed late"\ntrial = 1\nvalue = 5.8\n')
    assert session_file.read_bytes() == before + b"\n" + out.encode()
    assert f"added to {session_file}" in err
    assert load_session(session_file).as_amended.trials[0].value == 5.8


def test_a_second_correction_of_a_trial_says_that_the_first_is_replaced(
    session_file: Path, capsys: Captured
) -> None:
    for value in ("5.8", "7"):
        assert run(session_file, "--reason", "late", "--trial", 1, "--value", value) == 0
    assert capsys.readouterr().err.count("It replaces what addendum 1 says of trial 1.") == 1
    assert "It is 7 already." in refused(
        session_file, capsys, "--reason", "late", "--trial", 1, "--value", "7.0"
    )


def test_a_trial_is_struck_out_and_words_are_added(session_file: Path) -> None:
    assert run(session_file, "--reason", "helped", "--trial", 6, "--strike") == 0
    assert run(session_file, "--reason", "asked", "--text", "The floor was wet.") == 0
    first, second = load_session(session_file).addenda
    assert (first.trial, first.struck_out) == (6, True)
    assert (second.text, second.trial) == ("The floor was wet.", None)
    assert second.written.utcoffset() is not None
    assert first.written <= second.written


def test_every_command_reads_the_amended_session(session_file: Path, capsys: Captured) -> None:
    run(session_file, "--reason", "pressed late", "--trial", 1, "--value", "5.8")
    for command in (["assess"], ["note"], ["explain"], ["export", "--fhir"]):
        capsys.readouterr()
        assert cli.main([command[0], str(session_file), *command[1:]]) == 0
        out, err = capsys.readouterr()
        assert "5.8" in out
        assert "Addendum 1 corrects the value of trial 1" in err
    assert cli.main(["check", str(session_file)]) == 0


def test_words_need_no_protocol(tmp_path: Path) -> None:
    file = write_session(note_session(protocol="of-another-clinic"), tmp_path / "x.toml")
    assert run(file, "--reason", "asked", "--text", "The floor was wet.") == 0
    assert run(file, "--reason", "asked", "--trial", 1, "--strike") == 0
    assert len(load_session(file).addenda) == 2


def test_an_unfinished_session_is_refused(
    tmp_path: Path, protocols: Path, capsys: Captured
) -> None:
    assert protocols.is_dir()
    file = write_session(note_session(finished=None), tmp_path / "x.toml")
    err = refused(file, capsys, "--reason", "asked", "--text", "x")
    assert "This session is not finished" in err
    assert "correct it there" in err


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ("--trial 7 --strike", "There is no trial 7: the session has 6"),
        ("--trial 7 --value 3", "There is no trial 7"),
        ("--value 3", "Say with --trial N which trial has that value"),
        ("--strike", "is missing"),
        ("--trial 2 --strike", "void already: talked to"),
        ("--trial 1 --value soon", "soon is not a number"),
        ("--trial 1 --value 46", "46 is outside 0 to 45"),
        ("--trial 6 --value 3", "has no number"),
        ("", "needs a text"),
        ("--trial 1", "needs a text"),
    ],
)
def test_what_cannot_be_added_is_refused_with_a_sentence(
    session_file: Path, capsys: Captured, arguments: str, told: str
) -> None:
    assert told in refused(session_file, capsys, "--reason", "asked", *arguments.split())


@pytest.mark.parametrize(
    "arguments",
    [["--text", "x"], ["--reason", "a", "--trial", "1", "--value", "3", "--strike"]],
)
def test_a_line_that_makes_no_sense_is_refused(session_file: Path, arguments: list[str]) -> None:
    before = session_file.read_bytes()
    with pytest.raises(SystemExit) as left:
        run(session_file, *arguments)
    assert left.value.code == 2
    assert session_file.read_bytes() == before


def test_a_test_the_protocol_does_not_know_is_refused(
    tmp_path: Path, protocols: Path, capsys: Captured
) -> None:
    assert protocols.is_dir()
    session = note_session(trials=[{"test": "hop", "value": 3.0}], skipped=[])
    file = write_session(session, tmp_path / "x.toml")
    err = refused(file, capsys, "--reason", "asked", "--trial", 1, "--value", 4)
    assert "has no test hop" in err


class Waiting:
    """Stands for the module `time` of the lock: it waits for nobody.

    Args:
        after: Called once the lock has been waited for so many seconds.
        seconds: How many.
    """

    def __init__(self, after: Callable[[], object] = lambda: None, seconds: float = 60.0) -> None:
        self.passed = 0.0
        self._after, self._seconds = after, seconds

    def monotonic(self) -> float:
        return self.passed

    def sleep(self, seconds: float) -> None:
        self.passed += seconds
        if self.passed >= self._seconds:
            self._after()


def test_an_addendum_that_is_just_being_written_is_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = SessionStore(tmp_path / "sessions")
    file = store.save(note_session()).path
    other = take_lock(store.folder / f".{file.stem}.lock")
    monkeypatch.setattr(lock, "time", Waiting(other.release, 4.5))
    assert run(file, "--reason", "asked", "--text", "x") == 0
    assert [one.text for one in load_session(file).addenda] == ["x"]


@pytest.mark.skipif(os.name != "posix", reason="locks on Windows keep others from reading")
def test_addenda_of_several_programs_at_once_all_get_into_the_file(session_file: Path) -> None:
    line = [sys.executable, "-m", "screen_tui", "addendum", session_file, "--reason", "asked"]
    several = [subprocess.Popen([*line, "--text", f"{number}"]) for number in range(6)]
    assert [one.wait(60) for one in several] == [0] * 6
    assert sorted(one.text for one in load_session(session_file).addenda) == list("012345")


def test_a_session_that_is_open_in_the_program_is_refused_after_a_while(
    tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    session: Session = note_session()
    store = SessionStore(tmp_path / "sessions")
    file = store.save(session).path
    store.hold(session.id)
    waiting = Waiting()
    monkeypatch.setattr(lock, "time", waiting)
    err = refused(file, capsys, "--reason", "asked", "--text", "x")
    assert "is busy: it is open in a window of the program, or something else is being" in err
    assert 5.0 <= waiting.passed < 5.1
    store.release_all()
    assert run(file, "--reason", "asked", "--text", "x") == 0
    assert sorted(path.name for path in store.folder.iterdir()) == [file.name]


def test_what_is_not_there_is_not_found(tmp_path: Path, capsys: Captured) -> None:
    assert run(tmp_path / "gone.toml", "--reason", "asked", "--text", "x") == 4
    assert "There is no file" in capsys.readouterr().err


def write_papers(session_file: Path, full: bool = False) -> tuple[Path, Path]:
    """The note and the sheet of a session where the program writes them; gives their files."""
    folder = session_file.parent / "notes"
    folder.mkdir()
    names = [f"{load_session(session_file).id}{end}.txt" for end in ("", "-patient")]
    note, sheet = (folder / name for name in names)
    line = ["note", str(session_file), "-o", str(note), *(["--full"] if full else [])]
    assert cli.main(line) == 0
    assert cli.main(["sheet", str(session_file), "-o", str(sheet)]) == 0
    return note, sheet


@pytest.mark.parametrize("full", [False, True])
def test_a_written_note_is_written_anew_and_the_old_one_stays(
    session_file: Path, capsys: Captured, full: bool
) -> None:
    note, sheet = write_papers(session_file, full)
    before, of_sheet = note.read_bytes(), sheet.read_bytes()
    capsys.readouterr()
    assert run(session_file, "--reason", "asked", "--text", "wore a brace") == 0
    old = note.with_name(f"{note.stem}-before-addendum-1.txt")
    told = f"the note written anew; the old one is beside it, {old.name}."
    assert told in capsys.readouterr().err
    assert old.read_bytes() == before
    assert b"wore a brace" in note.read_bytes()
    assert (note.read_bytes().count(b"\n") > MOST_LINES) is full
    # Words about a trial are nothing for the patient: the sheet says the same.
    assert sheet.read_bytes() == of_sheet
    assert sorted(note.parent.iterdir()) == sorted([note, sheet, old])


def test_a_written_sheet_that_says_something_else_now_is_written_anew(
    session_file: Path, capsys: Captured
) -> None:
    note, sheet = write_papers(session_file)
    sheet.write_text("a plan of yesterday")
    assert run(session_file, "--reason", "helped", "--trial", 1, "--strike") == 0
    old = sheet.with_name(f"{sheet.stem}-before-addendum-1.txt")
    err = capsys.readouterr().err
    assert "the note and the sheet written anew; the old ones are beside them" in err
    assert old.name in err
    assert old.read_text() == "a plan of yesterday"
    assert "What your therapist tells you comes first" in " ".join(sheet.read_text().split())
    assert note.with_name(f"{note.stem}-before-addendum-1.txt").exists()


def test_papers_that_cannot_be_written_anew_stay_and_the_addendum_is_added(
    session_file: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    note, _ = write_papers(session_file)
    before = note.read_bytes()

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(written_papers, "write_whole", full)
    assert run(session_file, "--reason", "asked", "--text", "x") == 1
    assert "not up to date. The note in" in (err := capsys.readouterr().err)
    assert "could not be written anew: the disk is full." in err
    assert note.read_bytes() == before
    assert [one.text for one in load_session(session_file).addenda] == ["x"]


def test_a_written_note_of_an_unknown_test_set_stays(tmp_path: Path, capsys: Captured) -> None:
    file = write_session(note_session(protocol="of-another-clinic"), tmp_path / "x.toml")
    note = tmp_path / "notes" / f"{load_session(file).id}.txt"
    note.parent.mkdir()
    note.write_text("signed")
    assert run(file, "--reason", "asked", "--text", "The floor was wet.") != 0
    assert "the note and sheet written before are not up to date" in capsys.readouterr().err
    assert note.read_text() == "signed"
    assert len(load_session(file).addenda) == 1
