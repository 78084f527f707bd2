"""Temporary files of killed programs: removed when made good since, and never before."""

import os
from pathlib import Path

import pytest

from screen_tui.session.folder import remove_stale_files
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore

SAVED = 1_772_000_000


def aged(path: Path, seconds: float) -> Path:
    os.utime(path, (seconds, seconds))
    return path


@pytest.fixture
def left_behind(
    store: SessionStore, session: Session, monkeypatch: pytest.MonkeyPatch
) -> tuple[Path, Path]:
    """The file of a session, and what a kill in the middle of a further save leaves beside it."""
    target = store.save(session).path

    def killed(*_args: object) -> None:
        raise SystemExit

    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", killed)
        patch.setattr(Path, "unlink", lambda *_args, **_kwargs: None)
        with pytest.raises(SystemExit):
            store.save(session)
    (temporary,) = target.parent.glob(".*.tmp")
    return target, temporary


@pytest.mark.parametrize(("age", "stays"), [(60, False), (59, True), (0, True), (-300, True)])
def test_a_leftover_goes_once_its_session_was_saved_a_minute_later(
    left_behind: tuple[Path, Path], age: int, stays: bool
) -> None:
    target, temporary = left_behind
    aged(target, SAVED)
    aged(temporary, SAVED - age)
    remove_stale_files(target.parent)
    assert temporary.exists() == stays
    assert target.exists()


def test_what_may_be_the_only_copy_stays(left_behind: tuple[Path, Path]) -> None:
    target, temporary = left_behind
    target.unlink()
    aged(temporary, SAVED - 10**6)
    remove_stale_files(target.parent)
    assert temporary.exists()


@pytest.mark.parametrize("name", ["notes.tmp", ".a.tmp", ".a-short.tmp", ".a-12345678.tmp.txt"])
def test_files_of_others_are_left_alone(tmp_path: Path, name: str) -> None:
    (tmp_path / "a.toml").touch()
    aged(tmp_path / "a.toml", SAVED)
    (tmp_path / name).touch()
    aged(tmp_path / name, SAVED - 10**6)
    remove_stale_files(tmp_path)
    assert (tmp_path / name).exists()


def test_a_link_that_looks_like_a_leftover_is_not_removed(tmp_path: Path) -> None:
    (tmp_path / "a.toml").touch()
    link = tmp_path / ".a-12345678.tmp"
    link.symlink_to(tmp_path / "nowhere")
    os.utime(link, (SAVED - 10**6, SAVED - 10**6), follow_symlinks=False)
    remove_stale_files(tmp_path)
    assert link.is_symlink()


def test_a_folder_that_is_not_there_is_no_problem(tmp_path: Path) -> None:
    remove_stale_files(tmp_path / "gone")
    assert not (tmp_path / "gone").exists()
