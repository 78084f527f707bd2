"""What is told about a folder of sessions in which everything can be used."""

from __future__ import annotations

import os
import shlex
import subprocess
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from screen_tui.session.folder import clock_set_back, folder_warnings, open_to_others
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore

posix = pytest.mark.skipif(os.name != "posix", reason="modes are a matter of POSIX")


def test_nothing_is_shown_of_a_folder_the_program_made(
    store: SessionStore, session: Session
) -> None:
    assert folder_warnings(store.folder, (), session.started) == ()
    store.save(session)
    assert folder_warnings(store.folder, store.list(), session.started) == ()


@posix
@pytest.mark.parametrize(
    ("folder", "file", "told"),
    [
        (0o755, 0o600, "the folder {} (mode 755). "),
        (0o710, 0o600, "the folder {} (mode 710). "),
        (0o700, 0o640, "1 file in {}. "),
        (0o777, 0o604, "the folder {} (mode 777) and 1 file in it. "),
    ],
)
def test_what_others_are_let_into_is_shown_with_the_command_that_mends_it(
    tmp_path: Path, session: Session, folder: int, file: int, told: str
) -> None:
    store = SessionStore(tmp_path / "of K's sessions")
    path = store.save(session).path
    path.chmod(file)
    store.folder.chmod(folder)
    sentence = open_to_others(store.folder)
    assert sentence.startswith(
        f"Other accounts of this computer are let into {told.format(store.folder)}"
    )
    assert path.stat().st_mode & 0o777 == file  # nothing is mended silently
    assert store.folder.stat().st_mode & 0o777 == folder
    command = sentence.split("shuts them out: ")[1].removesuffix(
        " (a stick may keep no such permissions)"
    )
    assert shlex.split(command) == ["chmod", "-R", "go=", str(store.folder)]
    subprocess.run(["sh", "-c", command], check=True)
    assert open_to_others(store.folder) == ""


@posix
def test_drafts_and_saved_originals_count_and_folders_and_links_do_not(
    store: SessionStore, tmp_path: Path
) -> None:
    store.folder.mkdir(parents=True)
    store.folder.chmod(0o700)
    (store.folder / "notes").mkdir()
    (store.folder / "link").symlink_to(tmp_path)
    assert open_to_others(store.folder) == ""
    for name in ("draft.toml", "a.format-1.toml.kept"):
        (store.folder / name).touch(mode=0o644)
    assert "2 files in" in open_to_others(store.folder)


@pytest.mark.parametrize(
    ("behind", "told"), [(0, False), (23, False), (24, True), (24 * 365, True)]
)
@pytest.mark.parametrize("finished", [False, True])
def test_a_clock_behind_the_sessions_is_shown(
    store: SessionStore, session: Session, behind: int, told: bool, finished: bool
) -> None:
    moment = session.started
    early = moment - timedelta(days=900)
    dates = (
        {"started": early, "finished": moment}
        if finished
        else {"started": moment, "finished": early}
    )
    store.save(session.model_copy(update=dates))
    now: datetime = moment - timedelta(hours=behind)
    sentence = clock_set_back(store.list(), now)
    assert bool(sentence) == told
    if told:
        assert f"shows {now:%Y-%m-%d %H:%M}" in sentence
        assert "is of 2026-03-02 09:15" in sentence


def test_no_sessions_are_behind_no_clock(session: Session) -> None:
    assert clock_set_back((), session.started) == ""
