"""Session files of earlier formats are read, kept as they were, and not rewritten without need."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from support.faulty_disk import FaultyDisk

from screen_tui.cli.check import Checked, check_paths
from screen_tui.errors import FileRefusedError, SaveFailedError
from screen_tui.files import write as safewrite
from screen_tui.session.file import _STEPS, READABLE, load_session, migrated, session_text
from screen_tui.session.model import FORMAT, Session, Trial
from screen_tui.session.store import SessionStore


@pytest.fixture
def earlier(store: SessionStore, session: Session) -> Path:
    """A file of format 1, with a remark no program would write."""
    store.folder.mkdir(parents=True)
    path = store.folder / f"{session.id}.toml"
    text = session_text(session).replace("format = 3", "# by hand\nformat = 1")
    path.write_text(text, encoding="utf-8")
    return path


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_reading_changes_nothing(store: SessionStore, session: Session, earlier: Path) -> None:
    before = earlier.read_bytes(), earlier.stat().st_mtime_ns
    assert store.resume(session.id) == load_session(earlier) == session
    assert [one.label for one in store.list()] == ["K-014"]
    store.release_all()
    assert (earlier.read_bytes(), earlier.stat().st_mtime_ns) == before
    assert names(store.folder) == {earlier.name}


def test_the_first_save_keeps_the_file_as_it_was_and_later_ones_do_not(
    store: SessionStore, session: Session, earlier: Path
) -> None:
    before = earlier.read_bytes()
    store.load(session.id)
    kept = store.folder / f"{session.id}.format-1.toml.kept"
    saved = store.save(session)
    assert (saved.path, saved.kept_original) == (earlier, kept)
    assert kept.read_bytes() == before
    assert earlier.read_text(encoding="utf-8") == session_text(session)
    assert store.save(session.model_copy(update={"stopped": "pain"})).kept_original is None
    assert names(store.folder) == {earlier.name, kept.name}
    assert [one.id for one in store.list()] == [session.id]


def test_a_file_of_format_2_is_read_the_same_and_saved_as_it_was(
    store: SessionStore, session: Session, earlier: Path
) -> None:
    text = earlier.read_text(encoding="utf-8").replace("format = 1", "format = 2")
    earlier.write_text(text, encoding="utf-8")
    read = store.load(session.id)
    assert read == session
    assert (read.intake.history, read.intake.surgery, read.intake.cleared) == ({}, None, ())
    assert not any(trial.watched or trial.sign_legs or trial.sign_counts for trial in read.trials)
    kept = store.folder / f"{session.id}.format-2.toml.kept"
    assert store.save(session).kept_original == kept
    assert kept.read_text(encoding="utf-8") == text


@pytest.mark.parametrize("written", [1, 2])
def test_of_an_earlier_file_it_is_known_which_safety_questions_there_were(written: int) -> None:
    asked = migrated({"intake": {"side": "left"}}, written)["intake"]["safety_asked"]
    assert len(asked) == 8
    assert {"fracture-rule", "extensor-mechanism"} < set(asked)
    assert migrated({"intake": {"safety_asked": ["clot"]}}, written)["intake"] == {
        "safety_asked": ["clot"]
    }


def test_a_file_of_the_present_format_gets_no_copy(store: SessionStore, session: Session) -> None:
    store.save(session)
    store.load(session.id)
    assert store.save(session).kept_original is None


def test_a_copy_never_replaces_an_earlier_one(
    store: SessionStore, session: Session, earlier: Path
) -> None:
    kept = store.folder / f"{session.id}.format-1.toml.kept"
    kept.write_text("of last year", encoding="utf-8")
    before = earlier.read_bytes()
    store.load(session.id)
    saved = store.save(session)
    assert saved.kept_original == store.folder / f"{session.id}.format-1-2.toml.kept"
    assert saved.kept_original.read_bytes() == before
    assert kept.read_text(encoding="utf-8") == "of last year"


def test_a_stick_without_second_names_keeps_a_copy(
    store: SessionStore, session: Session, earlier: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_args: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuse)
    before = earlier.read_bytes()
    store.load(session.id)
    kept = store.save(session).kept_original
    assert kept is not None
    assert kept.read_bytes() == before
    assert kept.stat().st_mode & 0o777 == 0o600


def test_a_save_that_fails_is_tried_again_without_a_second_original(
    store: SessionStore, session: Session, earlier: Path
) -> None:
    store.load(session.id)
    with FaultyDisk.inserted() as disk:
        disk.fail("sync", 28)
        with pytest.raises(SaveFailedError):
            store.save(session)
    saved = store.save(session)
    assert saved.kept_original is not None
    assert names(store.folder) == {earlier.name, saved.kept_original.name}


def test_where_the_original_cannot_be_saved_nothing_is_saved_over_it(
    store: SessionStore, session: Session, earlier: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_args: object) -> bool:
        raise OSError(28, "No space left on device")

    before = earlier.read_bytes()
    store.load(session.id)
    monkeypatch.setattr(os, "link", full)
    monkeypatch.setattr(safewrite, "write_new", full)
    with pytest.raises(SaveFailedError, match="the disk is full"):
        store.save(session)
    assert earlier.read_bytes() == before


def test_a_file_changed_meanwhile_is_left_there_so_no_copy_is_made(
    store: SessionStore, session: Session, earlier: Path
) -> None:
    store.load(session.id)
    earlier.write_text("theirs", encoding="utf-8")
    saved = store.save(session)
    assert (saved.kept_beside, saved.kept_original) == (earlier, None)
    assert names(store.folder) == {earlier.name, saved.path.name}


def test_every_format_before_the_present_has_its_step() -> None:
    assert tuple(range(1, FORMAT + 1)) == READABLE
    assert set(_STEPS) == set(READABLE) - {FORMAT}


def test_steps_are_taken_one_after_the_other_and_leave_their_input_alone() -> None:
    steps: dict[int, Callable[[Any], Any]] = {
        1: lambda data: {**data, "came": [*data["came"], 1]},
        2: lambda data: {**data, "came": [*data["came"], 2]},
    }
    read = {"format": 1, "came": []}
    assert migrated(read, 1, steps, 3) == {"format": 3, "came": [1, 2]}
    assert migrated({"format": 2, "came": []}, 2, steps, 3) == {"format": 3, "came": [2]}
    assert migrated({"format": 3, "came": []}, 3, steps, 3) == {"format": 3, "came": []}
    assert read == {"format": 1, "came": []}


def test_what_format_1_held_shortly_before_it_ended_is_saved(session: Session) -> None:
    trial = Trial(
        test="one-leg",
        side="left",
        value=6.2,
        signs=("pelvis-drops",),
        sign_times={"pelvis-drops": 2.5},
        corrected_from=8.4,
        correction="stopped late",
    )
    data = {**session.with_trial(trial).model_dump(), "format": 1}
    assert Session.model_validate(migrated(data, 1)).trials[-1] == trial


@pytest.mark.parametrize(
    "written", ["0", "-1", "1.5", "1.0", "true", '"1"', '"two"', "[1]", "1979-05-27", "nan"]
)
def test_a_format_that_never_was_is_refused_with_its_place(
    earlier: Path, session: Session, store: SessionStore, written: str
) -> None:
    text = earlier.read_text(encoding="utf-8").replace("format = 1", f"format = {written}")
    earlier.write_text(text, encoding="utf-8")
    with pytest.raises(FileRefusedError) as caught:
        store.resume(session.id)
    assert str(caught.value) == (
        f"{earlier}:2: format: must be 1, 2 or 3, written as a whole number without quotes"
    )
    assert earlier.read_text(encoding="utf-8") == text


@pytest.mark.parametrize("written", ["4", "99", "9223372036854775807"])
def test_a_newer_format_is_named_refused_and_left_untouched(
    earlier: Path, session: Session, store: SessionStore, written: str
) -> None:
    text = earlier.read_text(encoding="utf-8").replace("format = 1", f"format = {written}")
    earlier.write_text(text, encoding="utf-8")
    with pytest.raises(FileRefusedError) as caught:
        store.resume(session.id)
    assert f"{earlier}:2: format: is {written}, and this program reads up to 3" in str(caught.value)
    assert store.save(session).kept_beside == earlier
    assert earlier.read_text(encoding="utf-8") == text


def test_a_mistake_in_an_earlier_file_is_shown_with_its_line(
    earlier: Path, session: Session, store: SessionStore
) -> None:
    text = earlier.read_text(encoding="utf-8").replace("value = 6.2", "value = 6200.0")
    earlier.write_text(text, encoding="utf-8")
    line = 1 + text.splitlines().index("value = 6200.0")
    with pytest.raises(FileRefusedError, match=rf":{line}: trials\[0\]\.value: "):
        store.load(session.id)


def test_checking_names_the_earlier_format(protocol, earlier: Path, session: Session) -> None:
    newer = protocol.write("saved/b.toml", session_text(session))
    kept = protocol.write("saved/c.toml.kept", earlier.read_text(encoding="utf-8"))
    assert check_paths([earlier, newer, kept], [protocol.path]) == (
        Checked(earlier, "session of format 1"),
        Checked(newer, "session"),
        Checked(kept, "session of format 1"),
    )
    broken = earlier.with_name("broken.toml")
    broken.write_text(session_text(session).replace("format = 3", "format = 0"), encoding="utf-8")
    with pytest.raises(FileRefusedError, match="must be 1, 2 or 3"):
        check_paths([broken], [protocol.path])
