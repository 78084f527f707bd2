import os
import stat
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from screen_tui.errors import (
    EntryRefusedError,
    FileRefusedError,
    NotFoundError,
    Problem,
)
from screen_tui.files.toml import read_toml
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.file import check_against, load_session, session_in, session_text
from screen_tui.session.model import Session, Trial
from screen_tui.session.store import SessionStore


def toml_files(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_a_saved_session_is_loaded_again(store: SessionStore, session: Session) -> None:
    saved = store.save(session)
    assert saved.path == store.folder / "2026-03-02-0915-7f3a.toml"
    assert saved.kept_beside is None
    assert saved.path.read_text(encoding="utf-8") == session_text(session)
    assert store.load(session.id) == load_session(saved.path) == session


@pytest.mark.skipif(os.name != "posix", reason="modes are a matter of POSIX")
def test_only_the_owner_may_read_the_folder_and_the_files(
    store: SessionStore, session: Session
) -> None:
    previous = os.umask(0)
    try:
        path = store.save(session).path
        store.save(session.model_copy(update={"finished": None}))
    finally:
        os.umask(previous)
    assert stat.S_IMODE(store.folder.stat().st_mode) == 0o700
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_label_never_gets_into_a_file_name(store: SessionStore, session: Session) -> None:
    store.save(session)
    assert toml_files(store.folder) == {"2026-03-02-0915-7f3a.toml"}


def test_each_save_replaces_the_file_and_leaves_nothing_else(
    store: SessionStore, session: Session
) -> None:
    for value in range(5):
        session = session.with_trial(Trial(test="one-leg", side="right", value=value))
        path = store.save(session).path
        assert load_session(path) == session
    assert toml_files(store.folder) == {path.name}


def test_a_new_id_is_one_no_file_bears(store: SessionStore, session: Session) -> None:
    draws = iter(["7f3a", "7f3a", "0001"])
    now = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)
    draw: Callable[[], str] = lambda: next(draws)  # noqa: E731
    assert store.new_id(now, draw) == session.id
    store.save(session)
    assert store.new_id(now, draw) == "2026-03-02-0915-0001"
    assert store.new_id(now) != store.new_id(now)


@pytest.mark.parametrize("name", ["../secret", "a/b", "", "A", "a.toml", "x" * 65, "a\n"])
def test_what_is_no_session_id_is_refused_before_it_becomes_a_path(
    store: SessionStore, name: str
) -> None:
    for use in (store.path_of, store.load):
        with pytest.raises(EntryRefusedError):
            use(name)


def test_a_session_that_does_not_exist_is_not_found(store: SessionStore) -> None:
    with pytest.raises(NotFoundError):
        store.load("2026-03-02-0915-7f3a")


def test_a_renamed_file_is_refused_rather_than_saved_under_two_names(
    store: SessionStore, session: Session
) -> None:
    path = store.save(session).path
    path.rename(store.folder / "renamed.toml")
    with pytest.raises(FileRefusedError) as caught:
        store.load("renamed")
    assert [(p.line, p.field) for p in caught.value.problems] == [(2, "id")]


def test_the_list_is_newest_first_with_unusable_files_last(
    store: SessionStore, session: Session
) -> None:
    assert store.list() == ()
    days = (2, 9, 5)
    for day in days:
        moment = datetime(2026, 3, day, 9, 15, tzinfo=UTC)
        update = {"id": f"day-{day}", "started": moment, "finished": None if day == 5 else moment}
        store.save(session.model_copy(update=update))
    (store.folder / "broken.toml").write_text("format =\n", encoding="utf-8")
    (store.folder / ".hidden.toml").write_text("format =\n", encoding="utf-8")
    (store.folder / "notes.txt").write_text("no session\n", encoding="utf-8")
    listed = store.list()
    assert [summary.id for summary in listed] == ["day-9", "day-5", "day-2", "broken"]
    assert [summary.label for summary in listed[:3]] == ["K-014"] * 3
    assert listed[3].problem.startswith(f"{store.folder / 'broken.toml'}:1: ")
    assert [summary.id for summary in listed if not summary.finished] == ["day-5", "broken"]


def test_listing_a_folder_that_cannot_be_read_is_a_refusal(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(FileRefusedError) as caught:
        SessionStore(tmp_path / "file").list()
    assert isinstance(caught.value.problems[0], Problem)


def test_a_document_read_from_disk_gives_the_places_for_the_check(
    store: SessionStore, session: Session, protocol
) -> None:
    path = store.save(session.with_trial(Trial(test="hop", side="left"))).path
    document = read_toml(path)
    with pytest.raises(FileRefusedError) as caught:
        check_against(session_in(document), load_protocol([protocol.path], "small"), document)
    assert str(caught.value).startswith(f"{path}:")
