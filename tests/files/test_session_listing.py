"""What of a large folder is read for a list, and what a search finds in the rest."""

from __future__ import annotations

import os
from datetime import timedelta
from pathlib import Path

import pytest

from screen_tui.session import folder
from screen_tui.session.file import session_text
from screen_tui.session.folder import NEWEST
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore


def save(store: SessionStore, session: Session, day: int, label: str = "K-1") -> str:
    """Save a session of some day; give its id."""
    started = session.started + timedelta(days=day)
    made = session.model_copy(
        update={
            "id": f"{started:%Y-%m-%d-%H%M}-{day:04x}",
            "started": started,
            "client": session.client.model_copy(update={"label": label}),
        }
    )
    store.folder.mkdir(parents=True, exist_ok=True)
    store.path_of(made.id).write_text(session_text(made), encoding="utf-8")
    return made.id


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """The files that are read as sessions."""
    paths: list[Path] = []
    plainly = folder.read_session

    def noted(path: Path, *, links: bool = False) -> object:
        paths.append(path)
        return plainly(path, links=links)

    monkeypatch.setattr(folder, "read_session", noted)
    return paths


def test_only_the_newest_are_read_for_a_list(
    store: SessionStore, session: Session, read: list[Path]
) -> None:
    ids = [save(store, session, day) for day in range(NEWEST + 3)]
    found = store.newest()
    assert [one.id for one in found.sessions] == ids[:2:-1]
    assert found.older == 3
    assert len(read) == NEWEST


def test_of_a_small_folder_nothing_is_left_out(store: SessionStore, session: Session) -> None:
    assert store.newest() == folder.Listed((), 0)
    ids = [save(store, session, day) for day in range(3)]
    (store.folder / "broken.toml").write_text("format =\n", encoding="utf-8")
    found = store.newest()
    assert [one.id for one in found.sessions] == [*reversed(ids), "broken"]
    assert found.older == 0
    assert found.sessions == store.list()


@pytest.mark.parametrize(
    ("wanted", "days"),
    [
        ("k-2", [1]),
        ("  K-2 ", [1]),
        ("K-", [2, 1, 0]),
        ("2026-03", [2, 1, 0]),
        ("2026-03-04", [2]),
        ("K-4", []),
        ("knee", []),
        ('"', [2]),
        ("-", [2, 1, 0]),
    ],
)
def test_a_search_looks_at_label_and_date_alone(
    store: SessionStore, session: Session, wanted: str, days: list[int]
) -> None:
    labels = ("K-1", "k-2", 'K-"3"')
    ids = [save(store, session, day, label) for day, label in enumerate(labels)]
    found = store.search(wanted)
    assert [one.id for one in found.sessions] == [ids[day] for day in days]
    assert found.older == 0


def test_a_search_reads_what_may_hold_the_words_and_nothing_else(
    store: SessionStore, session: Session, read: list[Path]
) -> None:
    ids = [save(store, session, day, f"K-{day}") for day in range(30)]
    store.search("k-17")
    assert [path.stem for path in read] == [ids[17]]


def test_a_search_gives_the_newest_and_says_that_there_may_be_more(
    store: SessionStore, session: Session
) -> None:
    ids = [save(store, session, day) for day in range(6)]
    found = store.search("k-1", most=4)
    assert [one.id for one in found.sessions] == ids[:1:-1]
    assert found.older == 2
    assert len(store.search("k-1", most=None).sessions) == 6


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no such files here")
def test_a_search_passes_over_what_is_no_file_and_tells_of_what_is_broken(
    store: SessionStore, session: Session, tmp_path: Path
) -> None:
    kept = save(store, session, 0)
    outside = tmp_path / "outside.toml"
    outside.write_text('label = "K-1"\n', encoding="utf-8")
    (store.folder / "a-link.toml").symlink_to(outside)
    (store.folder / "a-folder.toml").mkdir()
    os.mkfifo(store.folder / "a-pipe.toml")
    (store.folder / "broken.toml").write_text('label = "K-1" and\n', encoding="utf-8")
    usable, broken = store.search("K-1").sessions
    assert (usable.id, usable.problem) == (kept, "")
    assert broken.problem.startswith(f"{store.folder / 'broken.toml'}:1: ")
