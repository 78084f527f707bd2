import errno
import os
import stat
from pathlib import Path

import pytest

from screen_tui.errors import (
    SaveFailedError,
)
from screen_tui.files import write as safewrite
from screen_tui.session.file import load_session, session_text
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore


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


def test_a_folder_that_cannot_be_made_is_shown_and_another_may_be_used(
    tmp_path: Path, session: Session
) -> None:
    (tmp_path / "stick").write_text("a file", encoding="utf-8")
    for folder in (tmp_path / "stick", tmp_path / "stick" / "sessions"):
        with pytest.raises(SaveFailedError, match="a file is where a folder is needed"):
            SessionStore(folder).save(session)
    assert load_session(SessionStore(tmp_path / "other").save(session).path) == session
