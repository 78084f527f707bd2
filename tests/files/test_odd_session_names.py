"""Links, folders and pipes where a session is expected, foreign names, and clocks set back."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from support import small_protocol as small

from screen_tui.engine.assess import assess
from screen_tui.errors import FileRefusedError
from screen_tui.report.note import write_note
from screen_tui.session.file import load_session, session_text
from screen_tui.session.model import Session, Trial
from screen_tui.session.store import SessionStore


def put(kind: str, path: Path, outside: Path) -> None:
    """Let something that is no ordinary file stand at a path."""
    path.unlink(missing_ok=True)
    if kind == "folder":
        path.mkdir()
    elif kind == "pipe":
        os.mkfifo(path)
    else:
        path.symlink_to(outside)


@pytest.fixture
def outside(tmp_path: Path, session: Session) -> Path:
    """A session file that lies elsewhere."""
    path = tmp_path / "elsewhere" / f"{session.id}.toml"
    path.parent.mkdir()
    path.write_text(session_text(session), encoding="utf-8")
    return path


KINDS = {
    "folder": "is a folder",
    "pipe": "is not an ordinary file",
    "link": "is a link to another place",
    "dead link": "is a link to another place",
}


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_no_ordinary_file_is_shown_and_never_read_or_written_through(
    store: SessionStore, session: Session, outside: Path, kind: str
) -> None:
    path = store.save(session).path
    if kind == "dead link":
        outside.unlink()
    put(kind, path, outside)
    before = outside.read_bytes() if outside.exists() else None
    (told,) = store.list()
    assert (told.id, told.started) == (session.id, None)
    assert KINDS[kind] in told.problem
    with pytest.raises(FileRefusedError, match=KINDS[kind]):
        store.resume(session.id)

    more = session.with_trial(Trial(test="one-leg", side="right", value=3.0))
    saved = store.save(more)
    assert saved.kept_beside == path
    assert load_session(saved.path).trials == more.trials
    assert os.path.lexists(path)
    assert not path.is_file() or path.is_symlink()
    assert (outside.read_bytes() if outside.exists() else None) == before


@pytest.mark.parametrize("kind", KINDS)
def test_a_new_session_takes_no_name_that_anything_bears(
    store: SessionStore, outside: Path, kind: str
) -> None:
    store.folder.mkdir(parents=True)
    now = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)
    if kind == "dead link":
        outside.unlink()
    put(kind, store.folder / "2026-03-02-0915-7f3a.toml", outside)
    draws = iter(["7f3a", "0001"])
    assert store.new_id(now, lambda: next(draws)) == "2026-03-02-0915-0001"


def test_links_are_read_where_nothing_is_saved(store: SessionStore, outside: Path) -> None:
    store.folder.mkdir(parents=True)
    (store.folder / outside.name).symlink_to(outside)
    assert [one.label for one in store.list(links=True)] == ["K-014"]


@pytest.mark.parametrize("kind", ["link", "pipe"])
def test_a_draft_is_never_read_or_written_through_either(
    store: SessionStore, outside: Path, kind: str
) -> None:
    store.folder.mkdir(parents=True)
    put(kind, store.folder / "draft.toml", outside)
    (found,) = store.drafts(lambda _draft, _document: None)
    assert found.draft is None
    assert KINDS[kind] in found.problem


def test_a_copy_made_by_hand_is_shown_and_not_offered_as_a_second_session(
    store: SessionStore, session: Session
) -> None:
    path = store.save(session).path
    copy = path.with_name(f"{path.stem} (copy).toml")
    copy.write_bytes(path.read_bytes())
    usable, told = store.list()
    assert (usable.path, usable.problem) == (path, "")
    assert told.path == copy
    assert f"{copy}:2: id: differs from the file's name" in told.problem


EARLY = datetime(1970, 1, 1, tzinfo=UTC)


def test_a_clock_set_back_gives_new_ids_and_a_list_by_date(
    store: SessionStore, session: Session
) -> None:
    ids = []
    for moment in (session.started, EARLY, session.started, EARLY):
        draws = iter(["7f3a", "0001"])
        session_id = store.begin(moment, lambda draws=draws: next(draws))
        ids.append(session_id)
        store.save(session.model_copy(update={"id": session_id, "started": moment}))
    assert ids == [
        "2026-03-02-0915-7f3a",
        "1970-01-01-0000-7f3a",
        "2026-03-02-0915-0001",
        "1970-01-01-0000-0001",
    ]
    assert [one.id for one in store.list()] == [ids[0], ids[2], ids[1], ids[3]]


def test_dates_at_the_ends_of_the_calendar_are_put_in_order(
    store: SessionStore, session: Session
) -> None:
    ends = {
        "first": datetime(1, 1, 1, tzinfo=timezone(timedelta(hours=14))),
        "last": datetime(9999, 12, 31, 23, 59, tzinfo=timezone(timedelta(hours=-12))),
    }
    for session_id, moment in ends.items():
        store.save(
            session.model_copy(update={"id": session_id, "started": moment, "finished": None})
        )
    assert [one.id for one in store.list()] == ["last", "first"]


def test_an_end_before_the_beginning_breaks_nothing(store: SessionStore) -> None:
    odd = small.session({"test": "stance", "side": "left", "value": 6.2}, finished=EARLY)
    store.save(odd)
    assert store.resume(odd.id) == odd
    store.release_all()
    (listed,) = store.list()
    assert (listed.started, listed.finished) == (odd.started, EARLY)
    protocol = small.protocol(small.test_spec("stance"))
    note = write_note(protocol, odd, assess(protocol, odd), odd.started)
    assert "female; 2026-03-02 09:15\n" in note
