"""A finished screen goes on until it is left; from then on it is shown and never rewritten."""

from __future__ import annotations

import errno
from typing import Any

import pytest
from support import small_protocol as small
from support.clock import FakeClock
from support.faulty_disk import FaultyDisk

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Client, Intake, Session, Skip, Trial
from screen_tui.session.store import SessionStore
from screen_tui.tui.controller import SessionController
from screen_tui.tui.screens.note import NoteScreen
from screen_tui.tui.screens.result import ResultScreen
from screen_tui.tui.screens.start import StartScreen

SKIP = Skip(test="rises", reason="not safe today")
TRIAL = Trial(test="stance", side="left", value=6.2)


@pytest.fixture
def controller(knee: ScreenProtocol, store: SessionStore, clock: FakeClock) -> SessionController:
    return SessionController(knee, store, clock)


def begun(controller: SessionController) -> str:
    controller.begin(Client(label="K-001", age=67), Intake(side="left", goals=("walking",)))
    controller.add_trial(TRIAL)
    return controller.session.id


def finished(controller: SessionController) -> str:
    """A session that was finished and left."""
    session_id = begun(controller)
    controller.finish()
    controller.let_go()
    return session_id


def change_all(controller: SessionController) -> None:
    controller.add_trial(TRIAL)
    void = TRIAL.model_copy(update={"void": "x"})
    controller.change(controller.session.with_trial_amended(0, void))
    controller.change(controller.session.with_skip(Skip(test="rises", reason="x")))
    controller.mark_under_way(TRIAL)
    controller.change(controller.session.model_copy(update={"stopped": "x"}))
    controller.finish()
    controller.save()


def test_before_it_is_left_a_finished_screen_goes_on(
    controller: SessionController, store: SessionStore
) -> None:
    session_id = begun(controller)
    for change in (
        lambda: controller.add_trial(TRIAL),
        lambda: controller.change(controller.session.with_trial_amended(0, TRIAL)),
        lambda: controller.change(controller.session.with_skip(SKIP)),
        lambda: controller.mark_under_way(TRIAL),
    ):
        controller.finish()
        assert controller.tests_possible
        change()
        # So a program that dies now is asked about at the next start.
        assert SessionStore(store.folder).load(session_id).finished is None


def test_a_trial_given_up_does_not_open_a_finished_screen_again(
    controller: SessionController,
) -> None:
    begun(controller)
    controller.finish()
    controller.mark_under_way(None)
    assert controller.session.finished is not None


def test_opened_later_nothing_of_it_changes(
    controller: SessionController, store: SessionStore
) -> None:
    session_id = finished(controller)
    path = store.path_of(session_id)
    before = path.read_bytes()
    controller.resume(session_id)
    kept = controller.session
    assert controller.closed
    assert controller.read_only
    assert not controller.tests_possible
    assert not controller.stoppable
    change_all(controller)
    assert controller.session == kept
    controller.let_go()
    assert controller.unsaved == ()
    assert path.read_bytes() == before


def test_while_it_is_shown_others_may_have_it(
    controller: SessionController, store: SessionStore
) -> None:
    session_id = finished(controller)
    controller.resume(session_id)
    other = SessionStore(store.folder)
    assert other.hold(session_id)
    other.release_all()


def test_the_next_screen_may_change_again(controller: SessionController) -> None:
    controller.resume(finished(controller))
    assert begun(controller)
    assert not controller.closed
    assert controller.tests_possible


def test_one_that_could_not_be_saved_is_saved_as_it_was_left(
    controller: SessionController, store: SessionStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    session_id, disk = begun(controller), FaultyDisk(monkeypatch)
    disk.fail("write", errno.ENOSPC)
    controller.finish()
    controller.let_go()
    left = controller.unsaved[0]
    controller.resume(session_id)
    assert controller.closed
    assert not controller.read_only
    change_all(controller)
    assert controller.session == left
    controller.let_go()
    assert controller.unsaved == (left,)
    disk.heal()
    controller.resume(session_id)
    assert controller.read_only
    change_all(controller)
    assert SessionStore(store.folder).load(session_id) == left
    assert SessionStore(store.folder).hold(session_id)


def saved(store: SessionStore, **more: Any) -> Session:
    made = small.session(
        {"test": "stance", "side": "left", "value": 6.2},
        intake={"side": "left", "goals": ["walking"]},
        finished=small.STARTED,
        **more,
    )
    store.save(made)
    return made


@pytest.mark.parametrize("synthetic", [False, True])
async def test_the_screen_says_that_it_is_only_shown(
    open_program: Any, store: SessionStore, synthetic: bool
) -> None:
    made = saved(store, synthetic=synthetic)
    before = store.path_of(made.id).read_bytes()
    async with open_program() as driver:
        driver.app.controller.resume(made.id)
        driver.app.go_result()
        await driver.settle()
        assert isinstance(driver.app.screen, ResultScreen)
        shown = "INVENTED, read-only" if synthetic else "read-only"
        assert shown in driver.text()
        assert ("INVENTED" in driver.text()) == synthetic
        assert "do that test" not in driver.text()
        await driver.press("enter", "enter")
        assert isinstance(driver.app.screen, NoteScreen)
        assert shown in driver.text()
        await driver.press("enter")
        assert isinstance(driver.app.screen, StartScreen)
    assert store.path_of(made.id).read_bytes() == before


async def test_the_note_on_the_screen_has_the_addendum(
    open_program: Any, store: SessionStore
) -> None:
    added = {"written": small.STARTED, "reason": "pressed late", "trial": 1, "value": 5.8}
    made = saved(store, addenda=[added])
    async with open_program() as driver:
        driver.app.controller.resume(made.id)
        driver.app.go_note()
        await driver.settle()
        assert isinstance(driver.app.screen, NoteScreen)
        assert "Addendum: 1, " in driver.app.screen.text
        await driver.press("f")
        assert "5.8 s as corrected" in " ".join(driver.app.screen.text.split())
