"""Two windows of the program on one folder, and what Start tells of the folder."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from support import small_protocol as small

from screen_tui.session.file import session_text
from screen_tui.session.model import Client, Intake
from screen_tui.session.store import SessionStore
from screen_tui.tui.screens.before_testing import BeforeTestingScreen
from screen_tui.tui.screens.start import StartScreen
from screen_tui.tui.screens.test import TestScreen

LISTED = "K-001, begun 2026-03-02 09:15"


@pytest.fixture
def other(store: SessionStore) -> Iterator[SessionStore]:
    """What another window does with the folder."""
    window = SessionStore(store.folder)
    yield window
    window.release_all()


def unfinished(**more: object):
    return small.session(intake={"side": "left", "goals": ["walking"]}, **more)


async def test_a_session_open_in_another_window_is_listed_so_and_not_resumed(
    open_program, other: SessionStore
) -> None:
    session = unfinished()
    other.save(session)
    other.resume(session.id)
    async with open_program() as driver:
        assert f"{LISTED}; open in another window" in driver.words()
        await driver.press("1")
        assert isinstance(driver.app.screen, StartScreen)
        assert "leave it there with q and choose it here again" in driver.words()
        assert "log out and in again." in driver.words()
        other.release(session.id)
        await driver.press("1")
        assert isinstance(driver.app.screen, TestScreen)
        assert not other.hold(session.id)


async def test_answers_open_in_another_window_are_listed_so_and_not_resumed(
    open_program, other: SessionStore
) -> None:
    async with open_program() as driver:
        await driver.press("n", "1", "q", "1")
    other.resume_draft("draft", lambda _draft, _document: None)
    async with open_program() as driver:
        assert "1 Resume the questions (1 of 12 answered)" in driver.words()
        assert "open in another window" in driver.words()
        await driver.press("1")
        assert isinstance(driver.app.screen, StartScreen)
        assert "leave them there with q and choose them here again" in driver.words()
        await driver.press("n", "2")  # of somebody else
        assert sorted(path.name for path in other.folder.glob("draft*")) == [
            "draft-2.toml",
            "draft.toml",
        ]
        await driver.press("q", "1")
        other.release("draft")
        await driver.press("2")
        assert isinstance(driver.app.screen, BeforeTestingScreen)


async def test_answers_changed_by_another_program_go_on_beside_and_that_is_shown(
    open_program, store: SessionStore
) -> None:
    async with open_program() as driver:
        await driver.press("n", "1")
        (store.folder / "draft.toml").write_text("theirs", encoding="utf-8")
        await driver.press("n")
        assert "these answers are now in draft-2.toml" in driver.words()
    assert (store.folder / "draft.toml").read_text(encoding="utf-8") == "theirs"
    assert "clot = false" in (store.folder / "draft-2.toml").read_text(encoding="utf-8")


async def test_what_this_window_begins_and_leaves_is_its_own_meanwhile_only(
    open_program, store: SessionStore, other: SessionStore
) -> None:
    async with open_program() as driver:
        driver.app.controller.begin(Client(label="K-001", age=67), Intake(side="left"))
        driver.app.go_test()
        await driver.settle()
        session_id = driver.app.controller.session.id
        assert [one.open_elsewhere for one in other.list()] == [True]
        assert not other.hold(session_id)
        await driver.press("q")
        assert "open in another window" not in driver.words()
        assert other.hold(session_id)
        other.release(session_id)
        written = store.path_of(session_id).read_bytes()
        await driver.press("1")
        assert not other.hold(session_id)
        await driver.press("q")  # nothing was changed, so nothing waits to be saved
        assert "NOT SAVED" not in driver.words()
        assert store.path_of(session_id).read_bytes() == written
        assert other.hold(session_id)
        other.release(session_id)
        await driver.press("1")
    assert other.hold(session_id)


async def test_leaving_the_program_takes_the_file_of_the_lock_away(
    open_program, store: SessionStore
) -> None:
    store.save(unfinished())
    async with open_program() as driver:
        await driver.press("1")
        assert [path.name for path in store.folder.glob(".*.lock")] == [
            ".2026-03-02-0915-7f3a.lock"
        ]
        await driver.pilot.press("ctrl+q")
    assert list(store.folder.glob(".*.lock")) == []


async def test_a_refused_resume_leaves_the_session_to_others(
    open_program, store: SessionStore, other: SessionStore
) -> None:
    session = unfinished(trials=[{"test": "unknown-test", "value": 1.0}])
    store.save(session)
    async with open_program() as driver:
        await driver.press("1")
        assert "is not a test of this protocol" in driver.words()
        assert other.hold(session.id)


async def test_a_session_of_format_1_goes_on_and_says_where_its_file_is_saved(
    open_program, store: SessionStore
) -> None:
    store.folder.mkdir(mode=0o700)
    text = session_text(unfinished()).replace("format = 3", "format = 1")
    path = store.folder / "2026-03-02-0915-7f3a.toml"
    path.write_text(text, encoding="utf-8")
    async with open_program() as driver:
        await driver.press("1")
        assert path.read_text(encoding="utf-8") == text
        await driver.press("n", "n", "space", "space", "enter")
        assert "came from an earlier version of the program" in driver.words()
        kept = "2026-03-02-0915-7f3a.format-1.toml.kept"
        assert kept in "".join(driver.words().split())
        await driver.press("q")
        assert "1 resume" in driver.words()
    assert (store.folder / kept).read_text(encoding="utf-8") == text


async def test_a_folder_that_vanished_is_made_again_and_that_is_shown(
    open_program, store: SessionStore
) -> None:
    store.save(unfinished())
    async with open_program() as driver:
        await driver.press("1", "n", "n")
        shutil.rmtree(store.folder)
        await driver.press("space", "space", "enter")
        assert "was gone. It was made again and holds this session" in driver.words()
    assert len(store.load("2026-03-02-0915-7f3a").trials) == 1


async def test_a_remark_that_was_not_read_yet_is_shown_on_start(
    open_program, store: SessionStore
) -> None:
    store.save(unfinished())
    async with open_program() as driver:
        await driver.press("1")
        shutil.rmtree(store.folder)
        driver.app.controller.finish()
        driver.app.go_start()
        await driver.settle()
        assert "It was made again" in driver.words()


async def test_permissions_for_others_are_shown_once_with_the_command(
    open_program, store: SessionStore
) -> None:
    store.save(unfinished())
    store.folder.chmod(0o755)
    async with open_program() as driver:
        shown = "".join(driver.words().split())
        assert "Otheraccountsofthiscomputerareletintothefolder" in shown
        assert f"chmod-Rgo={store.folder}" in shown
        assert LISTED in driver.words()  # the list is not crowded out
        await driver.press("down")
        assert LISTED in driver.words()
        await driver.press("1", "q")
        assert isinstance(driver.app.screen, StartScreen)
        assert "Other accounts" not in driver.words()
    assert store.folder.stat().st_mode & 0o777 == 0o755


async def test_a_clock_behind_the_sessions_is_shown_on_start(
    open_program, store: SessionStore, clock
) -> None:
    store.save(unfinished(started=clock.wall() + timedelta(days=400)))
    async with open_program() as driver:
        assert "If the clock is wrong, set it before a new session" in driver.words()


async def test_demos_may_be_links_since_they_are_never_written(
    open_program, tmp_path: Path
) -> None:
    real, demos = tmp_path / "real", tmp_path / "demos"
    real.mkdir()
    demos.mkdir()
    name = "2026-03-02-0915-7f3a.toml"
    text = session_text(small.session(synthetic=True, finished=small.STARTED))
    (real / name).write_text(text, encoding="utf-8")
    (demos / name).symlink_to(real / name)
    async with open_program(demo_folder=demos) as driver:
        assert "K-001: age 65" in driver.words()
