"""One writer per session; the system holds the lock, so a dead program keeps nobody out."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from screen_tui.errors import FileRefusedError, NotFoundError, OpenElsewhereError
from screen_tui.files import lock
from screen_tui.session.file import load_session
from screen_tui.session.folder import remove_stale_files
from screen_tui.session.model import Session, Trial
from screen_tui.session.store import SessionStore

NOW = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _no_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lock, "_PAUSE_S", 0.0)


@pytest.fixture
def other(store: SessionStore) -> Iterator[SessionStore]:
    """The store of another window on the same folder."""
    window = SessionStore(store.folder)
    yield window
    window.release_all()


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_what_one_window_has_resumed_another_cannot_until_it_is_given_back(
    store: SessionStore, other: SessionStore, session: Session
) -> None:
    store.save(session)
    store.resume(session.id)
    with pytest.raises(OpenElsewhereError, match="open in another window"):
        other.resume(session.id)
    assert other.load(session.id) == session  # to look at it is free
    store.release(session.id)
    assert other.resume(session.id) == session


def test_the_list_says_what_is_open_elsewhere_and_not_what_is_open_here(
    store: SessionStore, other: SessionStore, session: Session
) -> None:
    unfinished = session.model_copy(update={"finished": None})
    store.save(unfinished)
    store.save(unfinished.model_copy(update={"id": "b"}))
    store.resume(session.id)

    def elsewhere(window: SessionStore) -> dict[str, bool]:
        return {one.id: one.open_elsewhere for one in window.list()}

    assert elsewhere(store) == {session.id: False, "b": False}
    assert elsewhere(other) == {session.id: True, "b": False}
    store.release_all()
    assert elsewhere(other) == {session.id: False, "b": False}


def test_the_file_of_a_lock_is_private_and_goes_with_the_lock(
    store: SessionStore, session: Session
) -> None:
    store.save(session)
    previous = os.umask(0)
    try:
        store.resume(session.id)
    finally:
        os.umask(previous)
    path = store.folder / f".{session.id}.lock"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    store.release(session.id)
    assert names(store.folder) == {f"{session.id}.toml"}


def test_two_windows_that_begin_in_the_same_minute_never_have_the_same_session(
    store: SessionStore, other: SessionStore
) -> None:
    store.folder.mkdir(parents=True)
    first = store.begin(NOW, lambda: "7f3a")
    draws = iter(["7f3a", "7f3a", "0001"])
    assert first == "2026-03-02-0915-7f3a"
    assert other.begin(NOW, lambda: next(draws)) == "2026-03-02-0915-0001"


def test_a_session_begun_before_there_was_a_folder_is_locked_at_its_first_save(
    store: SessionStore, other: SessionStore, session: Session
) -> None:
    begun = session.model_copy(update={"id": store.begin(NOW)})
    assert not store.folder.exists()
    store.save(begun)
    with pytest.raises(OpenElsewhereError):
        other.resume(begun.id)


HOLDS = """
import sys
from pathlib import Path
from screen_tui.session.store import SessionStore
store = SessionStore(Path(sys.argv[1]))
store.resume(sys.argv[2])
print("held", flush=True)
sys.stdin.read()
"""


def test_a_program_that_was_killed_shuts_nobody_out(store: SessionStore, session: Session) -> None:
    store.save(session)
    command = [sys.executable, "-c", HOLDS, str(store.folder), session.id]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as window:
        assert window.stdout is not None
        assert window.stdout.readline() == "held\n"
        with pytest.raises(OpenElsewhereError):
            store.resume(session.id)
        window.kill()
        window.wait()
    left = store.folder / f".{session.id}.lock"
    assert left.exists()
    assert not store.list()[0].open_elsewhere
    left.touch()
    assert store.resume(session.id) == session
    store.release(session.id)
    assert not left.exists()


def test_locks_that_nobody_holds_are_tidied_away_and_others_are_not(
    store: SessionStore, session: Session
) -> None:
    store.save(session)
    store.resume(session.id)
    (store.folder / ".b.lock").touch()
    remove_stale_files(store.folder)
    assert names(store.folder) == {f"{session.id}.toml", f".{session.id}.lock"}
    store.release_all()


@pytest.mark.parametrize("spoils", ["remove", "replace"])
def test_a_lock_whose_file_was_taken_away_is_taken_again_at_the_next_save(
    store: SessionStore, other: SessionStore, session: Session, spoils: str
) -> None:
    store.save(session)
    store.resume(session.id)
    path = store.folder / f".{session.id}.lock"
    path.unlink()
    if spoils == "replace":
        path.touch()
    store.save(session)
    with pytest.raises(OpenElsewhereError):
        other.resume(session.id)


def test_a_session_another_window_got_hold_of_meanwhile_goes_on_beside(
    store: SessionStore, other: SessionStore, session: Session
) -> None:
    path = store.save(session).path
    store.resume(session.id)
    (store.folder / f".{session.id}.lock").unlink()
    other.resume(session.id)
    more = session.with_trial(Trial(test="one-leg", side="right", value=3.0))
    saved = store.save(more)
    assert (saved.path.stem, saved.kept_beside) == (f"{session.id}-copy-1", path)
    assert load_session(path) == session
    with pytest.raises(OpenElsewhereError):
        other.resume(saved.path.stem)
    assert other.save(session).path == path
    store.release(session.id)
    assert other.resume(saved.path.stem).trials == more.trials


def test_what_was_changed_by_another_is_free_to_be_resumed_once_ours_goes_on_beside(
    store: SessionStore, other: SessionStore, session: Session
) -> None:
    path = store.save(session).path
    store.resume(session.id)
    path.write_text(path.read_text(encoding="utf-8") + "\n# theirs\n", encoding="utf-8")
    store.save(session)
    assert other.resume(session.id) == session


@pytest.mark.parametrize("code", [errno.ENOLCK, errno.ENOTSUP, errno.ENOSYS])
def test_where_there_are_no_locks_both_versions_are_still_saved(
    store: SessionStore,
    other: SessionStore,
    session: Session,
    monkeypatch: pytest.MonkeyPatch,
    code: int,
) -> None:
    def unknown(_descriptor: int) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(lock, "_lock", unknown)
    store.save(session)
    for window in (store, other):
        assert window.resume(session.id) == session
        assert not window.list()[0].open_elsewhere
    ours = session.with_trial(Trial(test="one-leg", side="right", value=1.0))
    theirs = session.with_trial(Trial(test="one-leg", side="right", value=2.0))
    first, second = store.save(ours).path, other.save(theirs).path
    assert first != second
    assert load_session(first).trials[-1].value == 1.0
    assert load_session(second).trials[-1].value == 2.0


@pytest.mark.parametrize("stands", ["link", "folder", "pipe"])
def test_what_stands_in_the_place_of_a_lock_is_left_alone(
    store: SessionStore, session: Session, tmp_path: Path, stands: str
) -> None:
    store.save(session)
    path = store.folder / f".{session.id}.lock"
    outside = tmp_path / "outside"
    if stands == "link":
        path.symlink_to(outside)
    elif stands == "folder":
        path.mkdir()
    else:
        os.mkfifo(path)
    assert store.resume(session.id) == session
    store.save(session)
    store.release_all()
    assert os.path.lexists(path)
    assert not outside.exists()


def test_what_cannot_be_resumed_is_not_held(
    store: SessionStore, other: SessionStore, session: Session
) -> None:
    path = store.save(session).path
    path.write_text("format =", encoding="utf-8")
    with pytest.raises(FileRefusedError):
        store.resume(session.id)
    with pytest.raises(NotFoundError):
        store.resume("gone")
    assert names(store.folder) == {path.name}
    assert other.hold(session.id)


def test_a_lock_is_taken_though_its_file_goes_in_the_same_instant(
    store: SessionStore, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.save(session)
    path = store.folder / f".{session.id}.lock"
    really_lock = lock._lock
    going = [path]

    def lock_late(descriptor: int) -> None:
        if going:
            going.pop().unlink()  # as its last holder does
        really_lock(descriptor)

    monkeypatch.setattr(lock, "_lock", lock_late)
    taken = lock.take_lock(path)
    assert taken.valid
    with pytest.raises(BlockingIOError):
        lock.take_lock(path)
    taken.release()
