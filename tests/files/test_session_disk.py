import errno
import os
import stat
from pathlib import Path

import pytest

from screen_tui.errors import (
    SaveFailedError,
)
from screen_tui.session import safewrite
from screen_tui.session.model import Session, Trial
from screen_tui.session.sessionfile import session_text
from screen_tui.session.store import SessionStore, load_session


def toml_files(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_the_data_reaches_the_disk_before_the_name_and_the_name_before_saving_ends(
    store: SessionStore, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.save(session)
    steps: list[str] = []
    really_sync, really_replace = os.fsync, Path.replace

    def sync(descriptor: int) -> None:
        kind = "folder" if stat.S_ISDIR(os.fstat(descriptor).st_mode) else "file"
        steps.append(f"sync {kind}")
        really_sync(descriptor)

    def replace(path: Path, target: Path) -> Path:
        steps.append("replace")
        assert path.parent == target.parent
        assert path.read_text(encoding="utf-8") == session_text(session)
        return really_replace(path, target)

    monkeypatch.setattr(os, "fsync", sync)
    monkeypatch.setattr(Path, "replace", replace)
    store.save(session)
    assert steps == ["sync file", "replace", "sync folder"]


class Disk:
    """Makes one step of writing fail."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self._patch = monkeypatch

    def fails_at(self, step: str, code: int) -> None:
        error = OSError(code, os.strerror(code))

        def fail(*_args: object, **_kwargs: object) -> None:
            raise error

        if step == "open":
            self._patch.setattr(safewrite.tempfile, "mkstemp", fail)
        elif step == "write":
            really_open = os.fdopen

            def open_full(descriptor: int, mode: str) -> object:
                file = really_open(descriptor, mode, buffering=0)
                os.write(descriptor, b"format = 1\nid =")

                class Full:
                    def __enter__(self) -> "Full":
                        return self

                    def __exit__(self, *_error: object) -> None:
                        file.close()

                    write = staticmethod(fail)

                return Full()

            self._patch.setattr(os, "fdopen", open_full)
        elif step == "sync":
            self._patch.setattr(os, "fsync", fail)
        elif step == "replace":
            self._patch.setattr(Path, "replace", fail)


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> Disk:
    return Disk(monkeypatch)


@pytest.mark.parametrize("step", ["open", "write", "sync", "replace"])
@pytest.mark.parametrize(
    ("code", "words"),
    [
        (errno.ENOSPC, "the disk is full. Make room"),
        (errno.EACCES, "you may not write there. Save again in another folder"),
        (errno.EIO, "Save again, or save in another folder"),
    ],
)
def test_a_failing_disk_leaves_the_old_file_and_says_what_to_do(
    store: SessionStore,
    session: Session,
    disk: Disk,
    monkeypatch: pytest.MonkeyPatch,
    step: str,
    code: int,
    words: str,
) -> None:
    path = store.save(session).path
    more = session.with_trial(Trial(test="one-leg", side="right", value=3.0))
    disk.fails_at(step, code)
    with pytest.raises(SaveFailedError) as caught:
        store.save(more)
    monkeypatch.undo()
    assert words in str(caught.value)
    assert str(store.folder) in str(caught.value)
    assert "Nothing is lost" in str(caught.value)
    assert toml_files(store.folder) == {path.name}
    assert load_session(path) == session
    assert store.save(more).path == path
    assert load_session(path) == more


def test_a_failure_after_the_file_is_in_place_is_told_and_the_next_save_goes_on(
    store: SessionStore, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = store.save(session).path
    more = session.with_trial(Trial(test="one-leg", side="right", value=3.0))
    really_sync = os.fsync

    def sync(descriptor: int) -> None:
        if stat.S_ISDIR(os.fstat(descriptor).st_mode):
            raise OSError(errno.EIO, "Input/output error")
        really_sync(descriptor)

    monkeypatch.setattr(os, "fsync", sync)
    with pytest.raises(SaveFailedError):
        store.save(more)
    monkeypatch.undo()
    assert load_session(path) == more
    final = more.with_trial(Trial(test="one-leg", side="right", value=4.0))
    assert store.save(final).kept_beside is None
    assert load_session(path) == final


def test_a_file_system_that_cannot_sync_folders_is_no_failure(
    store: SessionStore, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    really_sync = os.fsync

    def sync(descriptor: int) -> None:
        if stat.S_ISDIR(os.fstat(descriptor).st_mode):
            raise OSError(errno.EINVAL, "Invalid argument")
        really_sync(descriptor)

    monkeypatch.setattr(os, "fsync", sync)
    assert load_session(store.save(session).path) == session


def test_a_file_held_for_a_moment_is_replaced_at_another_attempt(
    store: SessionStore, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    really_replace = Path.replace
    refusals = [PermissionError(13, "held"), PermissionError(13, "held")]

    def replace(path: Path, target: Path) -> Path:
        if refusals:
            raise refusals.pop()
        return really_replace(path, target)

    monkeypatch.setattr(Path, "replace", replace)
    monkeypatch.setattr(safewrite, "_REPLACE_ATTEMPTS", 4)
    monkeypatch.setattr(safewrite, "_REPLACE_PAUSE_S", 0.0)
    assert load_session(store.save(session).path) == session
    assert refusals == []


def test_a_folder_that_cannot_be_made_is_told_and_another_may_be_used(
    tmp_path: Path, session: Session
) -> None:
    (tmp_path / "stick").write_text("a file", encoding="utf-8")
    for folder in (tmp_path / "stick", tmp_path / "stick" / "sessions"):
        with pytest.raises(SaveFailedError, match="a file stands where a folder is needed"):
            SessionStore(folder).save(session)
    assert load_session(SessionStore(tmp_path / "other").save(session).path) == session
