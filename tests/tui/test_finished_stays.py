"""A finished screen goes on until it is left; from then on it is shown and never rewritten."""

from __future__ import annotations

import errno
from typing import Any

import pytest
from support import small_protocol as small
from support.clock import FakeClock
from support.faulty_disk import FaultyDisk

from screen_tui.protocol.model import Protocol
from screen_tui.session.model import Client, Intake, Session, Skip, Trial
from screen_tui.session.store import SessionStore
from screen_tui.tui.controller import Keeper
from screen_tui.tui.screens.note import NotePage
from screen_tui.tui.screens.result import ResultPage
from screen_tui.tui.screens.start import StartPage

TRIAL = Trial(test="stance", side="left", value=6.2)


@pytest.fixture
def keeper(knee: Protocol, store: SessionStore, clock: FakeClock) -> Keeper:
    return Keeper(knee, store, clock)


def begun(keeper: Keeper) -> str:
    keeper.begin(Client(label="K-001", age=67), Intake(side="left", goals=("walking",)))
    keeper.keep_trial(TRIAL)
    return keeper.session.id


def finished(keeper: Keeper) -> str:
    """A session that was finished and left."""
    session_id = begun(keeper)
    keeper.finish()
    keeper.let_go()
    return session_id


def change_all(keeper: Keeper) -> None:
    keeper.keep_trial(TRIAL)
    keeper.amend_trial(0, TRIAL.model_copy(update={"void": "x"}))
    keeper.skip(Skip(test="rises", reason="x"))
    keeper.mark_under_way(TRIAL)
    keeper.stop("x")
    keeper.finish()
    keeper.save()


def test_before_it_is_left_a_finished_screen_goes_on(keeper: Keeper, store: SessionStore) -> None:
    session_id = begun(keeper)
    for change in (
        lambda: keeper.keep_trial(TRIAL),
        lambda: keeper.amend_trial(0, TRIAL),
        lambda: keeper.skip(Skip(test="rises", reason="not safe today")),
        lambda: keeper.mark_under_way(TRIAL),
    ):
        keeper.finish()
        assert keeper.tests_possible
        change()
        # So a program that dies now is asked about at the next start.
        assert SessionStore(store.folder).load(session_id).finished is None


def test_a_trial_given_up_does_not_open_a_finished_screen_again(keeper: Keeper) -> None:
    begun(keeper)
    keeper.finish()
    keeper.mark_under_way(None)
    assert keeper.session.finished is not None


def test_opened_later_nothing_of_it_changes(keeper: Keeper, store: SessionStore) -> None:
    session_id = finished(keeper)
    path = store.path_of(session_id)
    before = path.read_bytes()
    keeper.resume(session_id)
    kept = keeper.session
    assert keeper.closed
    assert keeper.read_only
    assert not keeper.tests_possible
    assert not keeper.stoppable
    change_all(keeper)
    assert keeper.session == kept
    keeper.let_go()
    assert keeper.unsaved == ()
    assert path.read_bytes() == before


def test_while_it_is_shown_others_may_have_it(keeper: Keeper, store: SessionStore) -> None:
    session_id = finished(keeper)
    keeper.resume(session_id)
    other = SessionStore(store.folder)
    assert other.hold(session_id)
    other.release_all()


def test_the_next_screen_may_change_again(keeper: Keeper) -> None:
    keeper.resume(finished(keeper))
    assert begun(keeper)
    assert not keeper.closed
    assert keeper.tests_possible


def test_one_that_could_not_be_saved_is_saved_as_it_was_left(
    keeper: Keeper, store: SessionStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    session_id, disk = begun(keeper), FaultyDisk(monkeypatch)
    disk.fail("write", errno.ENOSPC)
    keeper.finish()
    keeper.let_go()
    left = keeper.unsaved[0]
    keeper.resume(session_id)
    assert keeper.closed
    assert not keeper.read_only
    change_all(keeper)
    assert keeper.session == left
    keeper.let_go()
    assert keeper.unsaved == (left,)
    disk.heal()
    keeper.resume(session_id)
    assert keeper.read_only
    change_all(keeper)
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
        driver.app.keeper.resume(made.id)
        driver.app.go_result()
        await driver.settle()
        assert isinstance(driver.app.screen, ResultPage)
        shown = "INVENTED, read-only" if synthetic else "read-only"
        assert shown in driver.text()
        assert ("INVENTED" in driver.text()) == synthetic
        assert "do that test" not in driver.text()
        await driver.press("enter", "enter")
        assert isinstance(driver.app.screen, NotePage)
        assert shown in driver.text()
        await driver.press("enter")
        assert isinstance(driver.app.screen, StartPage)
    assert store.path_of(made.id).read_bytes() == before


async def test_the_note_on_the_screen_has_the_addendum(
    open_program: Any, store: SessionStore
) -> None:
    added = {"written": small.STARTED, "reason": "pressed late", "trial": 1, "value": 5.8}
    made = saved(store, addenda=[added])
    async with open_program() as driver:
        driver.app.keeper.resume(made.id)
        driver.app.go_note()
        await driver.settle()
        assert isinstance(driver.app.screen, NotePage)
        assert "ADDENDUM" in driver.app.screen.text
        assert "5.8 s as corrected" in " ".join(driver.app.screen.text.split())
