"""The index of a folder of sessions: a list is the same with it and without it, only sooner."""

from __future__ import annotations

import json
import os
import random
import stat
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screen_tui.session import index, listing
from screen_tui.session.index import INDEX_NAME, SETTLED_AFTER_NS
from screen_tui.session.leftovers import remove_leftovers
from screen_tui.session.listing import SessionSummary, list_sessions
from screen_tui.session.model import Client, Session, Trial
from screen_tui.session.sessionfile import session_text
from screen_tui.session.store import SessionStore

LATER_NS = 3_600_000_000_000
"""An hour: by then no file is new any more."""


def look(folder: Path, *, later_ns: int = LATER_NS) -> tuple[SessionSummary, ...]:
    """The list with the index."""
    now_ns = time.time_ns() + later_ns
    return list_sessions(folder, lambda _: False, remember=True, now_ns=now_ns)


def look_without(folder: Path) -> tuple[SessionSummary, ...]:
    return list_sessions(folder, lambda _: False)


def write(folder: Path, session: Session) -> Path:
    path = folder / f"{session.id}.toml"
    path.write_text(session_text(session), encoding="utf-8")
    return path


@pytest.fixture
def folder(tmp_path: Path, session: Session) -> Path:
    """A folder of three sessions that was looked at once."""
    made = tmp_path / "sessions"
    made.mkdir()
    for name in ("a", "b", "c"):
        write(made, session.model_copy(update={"id": name}))
    look(made)
    return made


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the session files that are opened from now on."""
    names: list[str] = []
    really_read = listing.read_own

    def read(path: Path) -> Any:
        names.append(path.name)
        return really_read(path)

    monkeypatch.setattr(listing, "read_own", read)
    return names


def stored(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / INDEX_NAME).read_bytes())
    return found


def test_the_second_look_opens_no_session(
    tmp_path: Path, session: Session, opened: list[str]
) -> None:
    for number in range(300):
        write(tmp_path, session.model_copy(update={"id": f"s{number:03}"}))
    first = look(tmp_path)
    assert len(first) == len(opened) == 300
    opened.clear()
    assert look(tmp_path) == first
    assert opened == []


def test_only_what_was_changed_is_read_again(
    folder: Path, session: Session, opened: list[str]
) -> None:
    other = session.model_copy(update={"id": "b", "client": Client(label="K-015", age=51)})
    write(folder, other)
    (folder / "a.toml").unlink()
    write(folder, session.model_copy(update={"id": "d"}))
    assert {one.id: one.label for one in look(folder)} == {"b": "K-015", "c": "K-014", "d": "K-014"}
    assert sorted(opened) == ["b.toml", "d.toml"]


def test_what_a_list_tells_of_a_session(store: SessionStore, session: Session) -> None:
    struck_out = Trial(test="one-leg", side="left", value=1.0, void="false start")
    told = session.with_trial(struck_out).model_copy(update={"stopped": "dizzy"})
    store.save(told)
    store.save(session.model_copy(update={"id": "b", "synthetic": False, "finished": None}))
    for _ in range(2):
        unfinished, stopped = look(store.folder)
        assert (stopped.age, stopped.trials) == (67, 3)
        assert (stopped.stopped, stopped.synthetic) == (True, True)
        assert stopped.started == session.started
        assert stopped.finished == session.finished
        assert stopped.path == store.folder / f"{session.id}.toml"
        assert (unfinished.stopped, unfinished.synthetic) == (False, False)
        assert unfinished.finished is None


def test_only_of_unfinished_sessions_is_asked_whether_they_are_open_elsewhere(
    folder: Path, session: Session
) -> None:
    write(folder, session.model_copy(update={"id": "d", "finished": None}))
    asked: list[str] = []

    def elsewhere(session_id: str) -> bool:
        asked.append(session_id)
        return True

    for remember in (False, True, True):
        found = list_sessions(folder, elsewhere, remember=remember)
        assert [one.id for one in found if one.open_elsewhere] == ["d"]
    assert asked == ["d"] * 3


def test_a_file_that_cannot_be_used_is_read_each_time(folder: Path, opened: list[str]) -> None:
    (folder / "a.toml").write_text("format =\n", encoding="utf-8")
    (folder / "link.toml").symlink_to(folder / "b.toml")
    for _ in range(2):
        assert [one.id for one in look(folder) if one.problem] == ["a", "link"]
        assert opened == ["a.toml", "link.toml"]
        opened.clear()


def test_a_file_is_trusted_only_once_its_times_would_tell_a_change(
    tmp_path: Path, session: Session, opened: list[str]
) -> None:
    path = write(tmp_path, session)
    changed = max(path.stat().st_mtime_ns, path.stat().st_ctime_ns)
    for now_ns, reads in [
        (changed + SETTLED_AFTER_NS - 1, 1),
        (changed + SETTLED_AFTER_NS, 1),
        (changed + SETTLED_AFTER_NS, 0),
    ]:
        opened.clear()
        list_sessions(tmp_path, lambda _: False, remember=True, now_ns=now_ns)
        assert len(opened) == reads


def test_a_file_from_a_clock_that_is_ahead_is_read_each_time(
    tmp_path: Path, session: Session, opened: list[str]
) -> None:
    path = write(tmp_path, session)
    ahead = time.time_ns() + 2 * LATER_NS
    os.utime(path, ns=(ahead, ahead))
    for _ in range(2):
        look(tmp_path)
    assert len(opened) == 2


@pytest.mark.skipif(os.name != "posix", reason="elsewhere the time of a change is not kept")
def test_a_change_that_hides_its_time_is_seen(folder: Path, session: Session) -> None:
    path = folder / "a.toml"
    before = path.stat()
    other = session_text(session.model_copy(update={"id": "a"})).replace("K-014", "K-015")
    while path.stat().st_ctime_ns == before.st_ctime_ns:
        with path.open("r+", encoding="utf-8") as file:
            file.write(other)
        os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    after = path.stat()
    assert (after.st_ino, after.st_size, after.st_mtime_ns) == (
        before.st_ino,
        before.st_size,
        before.st_mtime_ns,
    )
    assert [one.label for one in look(folder) if one.id == "a"] == ["K-015"]


@pytest.mark.skipif(os.name != "posix", reason="modes are a matter of POSIX")
def test_only_its_owner_may_read_it(folder: Path) -> None:
    assert stat.S_IMODE((folder / INDEX_NAME).stat().st_mode) == 0o600


def test_it_is_written_only_when_something_changed(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written: list[Path] = []
    monkeypatch.setattr(index, "write_whole", lambda path, _content: written.append(path))
    look(folder)
    assert written == []
    (folder / "a.toml").unlink()
    look(folder)
    assert written == [folder / INDEX_NAME]


def test_a_session_that_is_gone_is_gone_from_it(folder: Path) -> None:
    for path in folder.glob("*.toml"):
        path.unlink()
    assert look(folder) == ()
    assert "K-014" not in (folder / INDEX_NAME).read_text(encoding="utf-8")


def test_the_store_keeps_one_and_a_list_alone_does_not(
    store: SessionStore, session: Session
) -> None:
    store.save(session)
    look_without(store.folder)
    store.list(links=True)
    assert not (store.folder / INDEX_NAME).exists()
    os.utime(store.path_of(session.id), ns=(0, 0))
    store.list()
    # Nothing to keep yet: the file is new.
    assert not (store.folder / INDEX_NAME).exists()
    look(store.folder)
    assert list(stored(store.folder)["sessions"]) == [session.id]


def wrong_index(change: Callable[[dict[str, Any]], object]) -> Callable[[bytes], bytes]:
    def changed(content: bytes) -> bytes:
        data = json.loads(content)
        change(data)
        return json.dumps(data).encode()

    return changed


def entry(data: dict[str, Any], part: str) -> dict[str, Any]:
    found: dict[str, Any] = data["sessions"]["a"][part]
    return found


WRONG: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda _: b"",
    "cut": lambda content: content[: len(content) // 2],
    "no text": lambda _: b"\xff\xfe\x00",
    "another thing": lambda _: b"[]",
    "nested": lambda _: b"[" * 100_000,
    "a huge number": lambda _: b"9" * 100_000,
    "another version": wrong_index(lambda data: data.update(written_by="screen-tui 99")),
    "no version": wrong_index(lambda data: data.pop("written_by")),
    "steering text": wrong_index(lambda data: entry(data, "known").update(label="a\x1b[2J")),
    "a long label": wrong_index(lambda data: entry(data, "known").update(label="K" * 4000)),
    "no label": wrong_index(lambda data: entry(data, "known").pop("label")),
    "no offset": wrong_index(lambda data: entry(data, "known").update(started="2026-03-02T09:15")),
    "no such day": wrong_index(
        lambda data: entry(data, "known").update(started="2026-02-30T00:00Z")
    ),
    "age as text": wrong_index(lambda data: entry(data, "known").update(age="67")),
    "an age of nobody": wrong_index(lambda data: entry(data, "known").update(age=-1)),
    "trials": wrong_index(lambda data: entry(data, "known").update(trials=-1)),
    "more": wrong_index(lambda data: entry(data, "known").update(sneaky=1)),
    "a path": wrong_index(
        lambda data: data["sessions"].update({"../a": data["sessions"].pop("a")})
    ),
    "no stamp": wrong_index(lambda data: data["sessions"]["a"].pop("stamp")),
    "a stamp of text": wrong_index(lambda data: entry(data, "stamp").update(size="1")),
}


@pytest.mark.parametrize("what", WRONG)
def test_one_that_is_wrong_only_means_reading(folder: Path, opened: list[str], what: str) -> None:
    path = folder / INDEX_NAME
    good = path.read_bytes()
    path.write_bytes(WRONG[what](good))
    assert look(folder) == look_without(folder)
    assert opened[:3] == ["a.toml", "b.toml", "c.toml"]
    assert json.loads(path.read_bytes()) == json.loads(good)


def test_one_that_is_too_large_is_not_read(
    folder: Path, opened: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(index, "_MOST_BYTES", 100)
    look(folder)
    assert len(opened) == 3


@pytest.mark.parametrize("name", ["a", "link"])
def test_an_entry_never_stands_for_what_is_no_file(folder: Path, name: str) -> None:
    path, data = folder / f"{name}.toml", stored(folder)
    path.unlink(missing_ok=True)
    path.symlink_to(folder / "b.toml")
    status = path.lstat()
    data["sessions"][name] = json.loads(json.dumps(data["sessions"]["b"]))
    data["sessions"][name]["stamp"] = {
        "inode": status.st_ino,
        "modified_ns": status.st_mtime_ns,
        "changed_ns": status.st_ctime_ns,
        "size": status.st_size,
    }
    (folder / INDEX_NAME).write_text(json.dumps(data), encoding="utf-8")
    assert [one.id for one in look(folder) if one.problem] == [name]


@pytest.mark.parametrize("stands", ["link", "dangling link", "folder", "pipe"])
def test_what_is_not_ours_is_neither_read_nor_replaced(
    folder: Path, tmp_path: Path, opened: list[str], stands: str
) -> None:
    path, outside = folder / INDEX_NAME, tmp_path / "outside"
    good = path.read_bytes()
    path.unlink()
    if stands == "folder":
        path.mkdir()
    elif stands == "pipe":
        os.mkfifo(path)
    else:
        if stands == "link":
            outside.write_bytes(good)
        path.symlink_to(outside)
    before = path.lstat()
    assert len(look(folder)) == 3
    assert len(opened) == 3
    assert path.lstat().st_ino == before.st_ino
    assert not outside.exists() or outside.read_bytes() == good


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="owners are a matter of POSIX")
def test_the_file_of_another_person_is_neither_read_nor_replaced(
    folder: Path, opened: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    owner = os.getuid()
    before = (folder / INDEX_NAME).stat()
    (folder / "c.toml").unlink()
    monkeypatch.setattr(os, "getuid", lambda: owner + 1)
    assert len(look(folder)) == 2
    assert len(opened) == 2
    assert (folder / INDEX_NAME).stat().st_ino == before.st_ino


def test_that_it_cannot_be_written_is_no_error(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / INDEX_NAME).unlink()

    def refuse(_path: Path, _content: bytes) -> None:
        raise PermissionError

    monkeypatch.setattr(index, "write_whole", refuse)
    assert look(folder) == look_without(folder)


def test_nothing_is_made_where_there_is_no_folder(tmp_path: Path) -> None:
    assert look(tmp_path / "gone") == ()
    assert not (tmp_path / "gone").exists()


def test_what_a_kill_left_of_it_is_removed(folder: Path) -> None:
    left = folder / f".{Path(INDEX_NAME).stem}-abcd_123.tmp"
    left.touch()
    remove_leftovers(folder)
    assert not left.exists()
    assert (folder / INDEX_NAME).exists()


STEPS = ("save", "save", "edit", "edit in place", "break", "delete", "rename", "swap", "touch")


@settings(max_examples=25, deadline=None)
@given(st.lists(st.sampled_from(STEPS), min_size=1, max_size=12), st.integers(0, 2**32))
def test_the_list_is_the_same_after_whatever_was_done(
    tmp_path_factory: pytest.TempPathFactory, steps: list[str], seed: int
) -> None:
    folder, chance = tmp_path_factory.mktemp("sessions"), random.Random(seed)
    store = SessionStore(folder)
    moment_ns = time.time_ns() - LATER_NS
    for number, step in enumerate(steps):
        _do(step, folder, store, chance, number)
        for path in folder.glob("*.toml"):
            # As if some time had gone by since the step before, which a test does not wait for.
            if path.stat().st_mtime_ns > moment_ns:
                moment_ns += 1_000_000
                os.utime(path, ns=(moment_ns, moment_ns))
        assert look(folder) == look_without(folder)
        assert look(folder) == look_without(folder)


def _do(step: str, folder: Path, store: SessionStore, chance: random.Random, number: int) -> None:
    paths = sorted(folder.glob("*.toml"))
    path = chance.choice(paths) if paths else None
    if step == "save" or path is None:
        store.save(_invented(chance, f"s{chance.randrange(4)}"))
    elif step == "edit":
        path.write_text(session_text(_invented(chance, path.stem)), encoding="utf-8")
    elif step == "edit in place":
        with path.open("r+", encoding="utf-8") as file:
            file.write(session_text(_invented(chance, path.stem)))
    elif step == "break":
        path.write_text("format =\n", encoding="utf-8")
    elif step == "delete":
        path.unlink()
    elif step == "rename":
        path.rename(folder / f"renamed-{number}.toml")
    elif step == "swap":
        other = chance.choice(paths)
        path.rename(folder / "aside")
        if other != path:
            other.rename(path)
        (folder / "aside").rename(other)
    else:
        path.touch()


def _invented(chance: random.Random, session_id: str) -> Session:
    started = datetime(2026, 3, chance.randrange(1, 10), 9, 15, tzinfo=UTC)
    return Session(
        id=session_id,
        protocol="small",
        started=started,
        finished=chance.choice([None, started]),
        client=Client(label=f"K-{chance.randrange(3):03}", age=chance.randrange(20, 90)),
        trials=(Trial(test="one-leg", side="left", value=1.0),) * chance.randrange(3),
    )
