"""A session that cannot be saved is not dropped for the next one, nor by leaving unasked."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from support import small_protocol as small
from support.clock import FakeClock
from support.faulty_disk import REFUSALS, STEPS, FaultyDisk

from screen_tui.errors import SaveFailedError
from screen_tui.session.model import Client, Intake, Session, Trial
from screen_tui.session.store import SessionStore
from screen_tui.trial.intake import IntakeForm
from screen_tui.tui.controller import SessionController
from screen_tui.tui.screens.dialogs import AskDialog
from screen_tui.tui.screens.start import StartScreen
from screen_tui.tui.screens.test import TestScreen


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> FaultyDisk:
    return FaultyDisk(monkeypatch)


async def at_stance(driver, label: str = "K-001") -> str:
    driver.app.controller.begin(
        Client(label=label, age=67), Intake(side="left", goals=("walking",))
    )
    driver.app.go_test()
    await driver.settle()
    await driver.press("n", "n")
    return str(driver.app.controller.session.id)


KEEP_ONE_TRIAL = ("space", "space", "enter")


@pytest.mark.parametrize("code", REFUSALS)
@pytest.mark.parametrize("step", STEPS)
async def test_a_step_that_fails_is_shown_and_trying_again_saves_all(
    open_program, store: SessionStore, disk: FaultyDisk, step: str, code: int
) -> None:
    async with open_program() as driver:
        session_id = await at_stance(driver)
        disk.fail(step, code)
        await driver.press(*KEEP_ONE_TRIAL)
        assert "NOT SAVED" in driver.text()
        assert REFUSALS[code] in await driver.read_on()
        assert len(driver.app.controller.session.trials) == 1
        await driver.press("1")
        assert "NOT SAVED" in driver.text()
        disk.heal()
        await driver.press("1")
        assert isinstance(driver.app.screen, TestScreen)
        assert len(SessionStore(store.folder).load(session_id).trials) == 1


async def test_a_folder_that_became_read_only_is_shown_and_left_for_another(
    open_program, store: SessionStore, tmp_path: Path
) -> None:
    elsewhere = tmp_path / "stick"
    async with open_program() as driver:
        session_id = await at_stance(driver)
        store.folder.chmod(0o500)
        if os.access(store.folder, os.W_OK):
            pytest.skip("nothing is read-only to this user; refusals are injected elsewhere here")
        try:
            await driver.press(*KEEP_ONE_TRIAL)
            assert "you may not write there" in driver.words()
            await driver.press("1")
            assert "you may not write there" in driver.words()
            await driver.press("0")
            await driver.type(str(elsewhere))
            await driver.press("enter")
            assert isinstance(driver.app.screen, TestScreen)
        finally:
            store.folder.chmod(0o700)
    assert len(SessionStore(elsewhere).load(session_id).trials) == 1
    assert store.load(session_id).trials == ()


async def test_another_folder_takes_over_with_its_lock_and_is_shown(
    open_program, store: SessionStore, disk: FaultyDisk, tmp_path: Path
) -> None:
    elsewhere = SessionStore(tmp_path / "stick")
    async with open_program() as driver:
        session_id = await at_stance(driver)
        disk.fail("create", errno.EROFS)
        await driver.press(*KEEP_ONE_TRIAL)
        disk.heal()
        await driver.press("0")
        await driver.type(str(elsewhere.folder))
        await driver.press("enter")
        assert not elsewhere.hold(session_id)
        assert len(elsewhere.load(session_id).trials) == 1
        first = SessionStore(store.folder)
        assert first.hold(session_id)
        first.release_all()
        await driver.press("q")
        assert f"--sessions{elsewhere.folder}" in "".join(driver.words().split())


async def test_a_folder_below_one_that_is_gone_is_shown(
    open_program, disk: FaultyDisk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = tmp_path / "here"
    here.mkdir()
    async with open_program() as driver:
        await at_stance(driver)
        monkeypatch.chdir(here)
        here.rmdir()
        disk.fail("create", errno.ENOSPC)
        await driver.press(*KEEP_ONE_TRIAL, "0")
        await driver.type("stick")
        await driver.press("enter")
        assert "NOT SAVED" in driver.text()
        assert "The folder that the program was started in is gone" in await driver.read_on()
        disk.heal()
        await driver.press("0")
        await driver.type(str(tmp_path / "stick"))
        await driver.press("enter")
        assert isinstance(driver.app.screen, TestScreen)
    assert len(SessionStore(tmp_path / "stick").list()) == 1


async def test_a_link_that_leads_to_itself_is_no_folder(
    open_program, store: SessionStore, disk: FaultyDisk, tmp_path: Path
) -> None:
    loop = tmp_path / "loop"
    loop.symlink_to(loop)
    async with open_program() as driver:
        session_id = await at_stance(driver)
        disk.fail("create", errno.ENOSPC)
        await driver.press(*KEEP_ONE_TRIAL, "0")
        disk.heal()
        await driver.type(str(loop))
        await driver.press("enter")
        assert "NOT SAVED" in driver.text()
        await driver.press("1")
        assert isinstance(driver.app.screen, TestScreen)
    assert len(store.load(session_id).trials) == 1


@pytest.mark.parametrize("typed", ["~nobody-of-this-name/x", "/dev/null", "/dev/null/x"])
async def test_a_folder_that_cannot_be_is_shown_and_the_first_one_stays(
    open_program, store: SessionStore, disk: FaultyDisk, typed: str
) -> None:
    async with open_program() as driver:
        session_id = await at_stance(driver)
        disk.fail("create", errno.ENOSPC)
        await driver.press(*KEEP_ONE_TRIAL, "0")
        await driver.type(typed)
        await driver.press("enter")
        assert "NOT SAVED" in driver.text()
        told = await driver.read_on()
        assert "names nobody" in told or "a file is where a folder is needed" in told
        disk.heal()
        await driver.press("1")
        assert isinstance(driver.app.screen, TestScreen)
    assert len(store.load(session_id).trials) == 1


async def test_typing_the_same_folder_again_is_trying_again(
    open_program, store: SessionStore, disk: FaultyDisk
) -> None:
    async with open_program() as driver:
        session_id = await at_stance(driver)
        disk.fail("create", errno.ENOSPC)
        await driver.press(*KEEP_ONE_TRIAL)
        disk.heal()
        await driver.press("0")
        await driver.type(str(store.folder))
        await driver.press("enter")
    assert [one.id for one in store.list()] == [session_id]
    assert len(store.load(session_id).trials) == 1


async def test_the_next_person_can_be_screened_while_the_last_waits_in_memory(
    open_program, store: SessionStore, disk: FaultyDisk
) -> None:
    async with open_program() as driver:
        first = await at_stance(driver)
        disk.fail("write", errno.ENOSPC)
        await driver.press(*KEEP_ONE_TRIAL, "b", "q")
        assert "last changes NOT SAVED" in driver.words()
        second = await at_stance(driver, "K-002")
        await driver.press(*KEEP_ONE_TRIAL, "b")
        disk.heal()
        await driver.press(*KEEP_ONE_TRIAL)
        assert driver.app.controller.saved
        assert driver.app.controller.unsaved == ()
        other = SessionStore(store.folder)
        assert len(other.load(first).trials) == 1
        assert len(other.load(second).trials) == 2
        assert other.hold(first)
        assert not other.hold(second)
        other.release_all()


async def test_what_waits_in_memory_is_resumed_as_it_is_there(
    open_program, store: SessionStore, disk: FaultyDisk
) -> None:
    async with open_program() as driver:
        session_id = await at_stance(driver)
        disk.fail("write", errno.ENOSPC)
        await driver.press(*KEEP_ONE_TRIAL, "b", "q")
        assert len(store.load(session_id).trials) == 0
        await driver.press("1")
        assert isinstance(driver.app.screen, TestScreen)
        assert len(driver.app.controller.session.trials) == 1
        disk.heal()
        driver.app.controller.save()
        assert len(store.load(session_id).trials) == 1


async def test_a_finished_screen_that_is_not_saved_leads_on_to_start_and_is_asked_about(
    open_program, store: SessionStore, disk: FaultyDisk
) -> None:
    async with open_program() as driver:
        session_id = await at_stance(driver)
        driver.app.go_note()
        await driver.settle()
        disk.fail("sync", errno.ENOSPC)
        await driver.press("enter")
        assert "NOT SAVED" in driver.text()
        disk.heal()
        await driver.press("1")
        assert isinstance(driver.app.screen, StartScreen)
        assert "NOT SAVED" not in driver.text()
        assert "K-001, begun" not in driver.text()
    assert store.load(session_id).finished is not None


@pytest.mark.parametrize("key", ["q", "ctrl+q"])
async def test_leaving_asks_first_where_something_would_be_lost(
    open_program, store: SessionStore, disk: FaultyDisk, key: str
) -> None:
    async with open_program() as driver:
        session_id = await at_stance(driver)
        disk.fail("write", errno.ENOSPC)
        await driver.press(*KEEP_ONE_TRIAL, "b", "q")
        await driver.press(key)
        assert isinstance(driver.app.screen, AskDialog)
        assert "What is not is lost when the program ends" in await driver.read_on()
        await driver.press("b", key)
        assert isinstance(driver.app.screen, AskDialog)  # asked again
        disk.heal()
        await driver.press("1")
        assert isinstance(driver.app.screen, StartScreen)
        await driver.press(key)
    assert driver.app.return_code == 0
    assert len(store.load(session_id).trials) == 1


@pytest.mark.parametrize("how", ["2", "ctrl+q"])
async def test_leaving_is_possible_though_it_loses_something(
    open_program, disk: FaultyDisk, how: str
) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        disk.fail("write", errno.ENOSPC)
        await driver.press(*KEEP_ONE_TRIAL, "b", "q", "q", how)
    assert driver.app.return_code == 1


LOST = "The program has ended, and all that was entered after the last save is lost."


@pytest.mark.parametrize("code", REFUSALS)
async def test_what_is_shown_after_the_end_is_true_then(
    open_program, store: SessionStore, disk: FaultyDisk, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    told: list[str] = []
    async with open_program() as driver:
        await at_stance(driver)
        disk.fail("write", code)
        await driver.press(*KEEP_ONE_TRIAL, "b", "q", "q")
        monkeypatch.setattr(driver.app, "exit", lambda **more: told.append(str(more["message"])))
        await driver.press("2")
    cause = REFUSALS[code].split(". ")[0]
    assert told == [f"The session could not be saved in {store.folder}: {cause}. {LOST}"]


async def test_the_same_holds_for_answers_without_a_session(
    open_program, store: SessionStore, disk: FaultyDisk, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[str] = []
    async with open_program() as driver:
        disk.fail("write", errno.ENOSPC)
        await driver.press("n", "1")
        monkeypatch.setattr(driver.app, "exit", lambda **more: told.append(str(more["message"])))
        driver.app.action_leave()
    assert told == [f"The answers are not saved in {store.folder}: the disk is full. {LOST}"]


async def test_answers_in_hand_move_to_the_other_folder_at_once(
    open_program, disk: FaultyDisk, tmp_path: Path
) -> None:
    async with open_program() as driver:
        disk.fail("write", errno.ENOSPC)
        await driver.press("n", "1")
        await driver.press("ctrl+q")
        disk.heal()
        await driver.press("0")
        await driver.type(str(tmp_path / "stick"))
        disk.fail("write", errno.ENOSPC)
        await driver.press("enter")
        assert "NOT SAVED" in driver.text()
        disk.heal()
        await driver.press("1")
    assert (tmp_path / "stick" / "draft.toml").exists()


async def test_an_unsaved_session_is_not_listed_twice(
    open_program, store: SessionStore, disk: FaultyDisk
) -> None:
    store.save(small.session(intake={"side": "left", "goals": ["walking"]}))
    async with open_program() as driver:
        await driver.press("1", "n", "n")
        disk.fail("write", errno.ENOSPC)
        await driver.press(*KEEP_ONE_TRIAL, "b", "q")
        assert driver.words().count("K-001, begun") == 1


BEGUN = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)
Refuse = Callable[[Path, str], bool]


@pytest.fixture
def refusing(monkeypatch: pytest.MonkeyPatch) -> Callable[[Refuse], None]:
    """Have saves fail where that says so, by folder and label."""
    real = SessionStore.save

    def use(refuse: Refuse) -> None:
        def save(self: SessionStore, session: Session) -> object:
            if refuse(self.folder, session.client.label):
                raise SaveFailedError("The disk is full.")
            return real(self, session)

        monkeypatch.setattr(SessionStore, "save", save)

    return use


def controller_in(folder: Path) -> SessionController:
    protocol = small.protocol(small.test_spec("stance"))
    return SessionController(protocol, SessionStore(folder), FakeClock(wall=BEGUN))


def begin(controller: SessionController, label: str) -> str:
    controller.begin(Client(label=label, age=67), Intake(side="left", goals=("walking",)))
    return controller.session.id


@pytest.fixture
def left_unsaved(tmp_path: Path, refusing) -> tuple[SessionController, str, str]:
    """A controller with one session that waits and another in hand; nothing goes to its folder."""
    controller = controller_in(tmp_path / "first")
    refusing(lambda folder, _: folder == tmp_path / "first")
    one = begin(controller, "K-1")
    controller.let_go()
    return controller, one, begin(controller, "K-2")


@pytest.mark.parametrize("failing", ["K-1", "K-2"], ids=["the-waiting-one", "the-one-in-hand"])
def test_what_moved_in_part_is_where_it_was(
    tmp_path: Path, refusing, left_unsaved, failing: str
) -> None:
    controller, one, two = left_unsaved
    first = tmp_path / "first"
    refusing(lambda folder, label: folder == first or label == failing)
    assert not controller.save_in(tmp_path / "other")
    assert controller.store.folder == first
    assert [session.id for session in controller.unsaved] == [one]
    assert controller.trouble
    controller.let_go()
    assert {session.id for session in controller.unsaved} == {one, two}
    refusing(lambda *_: False)
    assert controller.save()
    assert {path.stem for path in first.glob("*.toml")} == {one, two}


def test_all_that_waits_goes_along_to_the_other_folder(tmp_path: Path, left_unsaved) -> None:
    controller, one, two = left_unsaved
    other = tmp_path / "other"
    assert controller.save_in(other)
    assert controller.unsaved == ()
    assert {path.stem for path in other.glob("*.toml")} == {one, two}


def test_answers_are_forgotten_once_their_own_session_is_saved(tmp_path: Path, refusing) -> None:
    controller = controller_in(tmp_path)
    form = IntakeForm.blank(controller.protocol).key("1", "1")

    def drafts() -> list[str]:
        return sorted(path.stem for path in tmp_path.glob("draft*"))

    refusing(lambda *_: True)
    for label in ("K-1", "K-2"):
        controller.keep_answers(form)
        begin(controller, label)
    assert drafts() == ["draft", "draft-2"]
    assert controller.answers_left() == ((), ())  # the sessions that wait are listed
    refusing(lambda _, label: label == "K-1")
    assert not controller.save()
    assert drafts() == ["draft"]
    refusing(lambda *_: False)
    assert controller.save()
    assert drafts() == []
    controller.close()


def test_answers_go_on_in_memory_beside_sessions_that_wait(tmp_path: Path, refusing) -> None:
    controller = controller_in(tmp_path)
    form = IntakeForm.blank(controller.protocol).key("1", "1")
    refusing(lambda *_: True)
    begin(controller, "K-1")
    controller.let_go()
    controller.keep_answers(form)
    assert controller.answers_saved
    assert controller.trouble
    controller.let_go()
    assert controller.answers is None
    (left,), _ = controller.answers_left()
    assert controller.go_on_with_answers(left.id) == form
    controller.close()


def test_what_waits_is_saved_during_practice_and_practice_itself_never_is(
    tmp_path: Path, refusing, left_unsaved
) -> None:
    controller, one, two = left_unsaved
    controller.practise(small.session(id="run", synthetic=True))
    assert {session.id for session in controller.unsaved} == {one, two}
    refusing(lambda *_: False)
    controller.add_trial(Trial(test="stance", side="left", value=9.0))
    assert controller.saved
    assert controller.unsaved == ()
    assert len(controller.session.trials) == 1
    controller.let_go()
    assert controller.unsaved == ()
    assert {path.stem for path in tmp_path.rglob("*.toml")} == {one, two}


def test_a_retest_that_waits_still_knows_its_earlier_visit(tmp_path: Path, refusing) -> None:
    controller = controller_in(tmp_path)
    begin(controller, "K-1")
    earlier = controller.session
    controller.let_go()
    refusing(lambda *_: True)
    controller.begin(earlier.client, earlier.intake, earlier)
    waiting = controller.session.id
    controller.let_go()
    controller.resume(waiting)
    assert controller.earlier == earlier
