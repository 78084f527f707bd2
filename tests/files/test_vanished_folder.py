"""A folder that goes away while a session is open: made again where it was, and nowhere else."""

from __future__ import annotations

import os
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from screen_tui.errors import SaveFailedError
from screen_tui.session import folder as session_folder
from screen_tui.session.draft import Draft
from screen_tui.session.file import load_session
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore


@pytest.mark.parametrize("deep", [False, True])
def test_a_folder_that_was_removed_is_made_again_and_that_is_shown_once(
    store: SessionStore, session: Session, deep: bool
) -> None:
    store.save(session)
    shutil.rmtree(store.folder.parent if deep else store.folder)
    saved = store.save(session)
    assert saved.folder_made_again
    assert load_session(saved.path) == session
    assert store.folder.stat().st_mode & 0o777 == 0o700
    assert not store.save(session).folder_made_again


def test_a_folder_made_for_the_first_time_is_nothing_to_say(
    store: SessionStore, session: Session
) -> None:
    assert not store.save(session).folder_made_again


def test_a_resumed_session_knows_its_folder_too(store: SessionStore, session: Session) -> None:
    store.save(session)
    window = SessionStore(store.folder)
    window.resume(session.id)
    shutil.rmtree(store.folder)
    assert window.save(session).folder_made_again
    assert (store.folder / f".{session.id}.lock").exists()
    window.release_all()


def test_a_folder_made_again_is_shown_though_the_save_after_it_failed(
    store: SessionStore, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    store.save(session)
    shutil.rmtree(store.folder)
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(SaveFailedError):
            store.save(session)
    assert store.save(session).folder_made_again


def test_a_stick_that_was_taken_out_is_not_replaced_by_a_folder_on_another_disk(
    store: SessionStore, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.save(session)
    away = store.folder.rename(store.folder.with_name("away"))
    with monkeypatch.context() as patch:
        patch.setattr(session_folder, "_disk_around", lambda _path: -1)
        with pytest.raises(SaveFailedError) as caught:
            store.save(session)
    assert str(caught.value) == (
        f"The session could not be saved in {store.folder}: it is gone, and its disk too. "
        "Put the stick or disk back and save again, or save in another folder. "
        "Nothing is lost as long as the program stays open."
    )
    assert not store.folder.exists()
    away.rename(store.folder)
    saved = store.save(session)
    assert (saved.kept_beside, saved.folder_made_again) == (None, False)


def test_answers_heed_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "sessions"
    store = SessionStore(folder)
    draft_id = store.begin_draft(lambda _draft, _document: None)
    draft = Draft(
        protocol="small",
        questions="sha256:01",
        begun=datetime(2026, 3, 2, 9, 15, tzinfo=UTC),
        at="label",
        answers={"clot": False},
    )
    store.save_draft(draft_id, draft)
    shutil.rmtree(folder)
    with monkeypatch.context() as patch:
        patch.setattr(session_folder, "_disk_around", lambda _path: -1)
        with pytest.raises(SaveFailedError, match="it is gone"):
            store.save_draft(draft_id, draft)
    assert not folder.exists()
    assert store.save_draft(draft_id, draft).folder_made_again
    found = store.drafts(lambda _draft, _document: None)
    assert [one.draft for one in found] == [draft]
    store.release_all()


def test_a_folder_reached_through_a_link_is_used_as_any_other(
    tmp_path: Path, session: Session
) -> None:
    (tmp_path / "stick").mkdir()
    (tmp_path / "sessions").symlink_to(tmp_path / "stick")
    store = SessionStore(tmp_path / "sessions")
    assert store.save(session).path.exists()
    assert (tmp_path / "stick" / f"{session.id}.toml").exists()
    assert not store.list()[0].problem
