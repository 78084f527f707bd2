"""The first page is painted before anything is read, and keys wait for what comes after."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from support.hands import Driver, key_event
from support.settled import settled

from screen_tui.clock import FakeClock
from screen_tui.errors import NotFoundError
from screen_tui.opening import Opened
from screen_tui.preferences import Preferences, Preferred
from screen_tui.protocol.whole import Protocol
from screen_tui.session.store import SessionStore
from screen_tui.tui.app import ScreenApp
from screen_tui.tui.screens.before_testing import BeforeTestingPage
from screen_tui.tui.screens.opening import OpeningPage
from screen_tui.tui.screens.start import StartPage
from screen_tui.tui.settings import Settings


@pytest.fixture
def opened(knee: Protocol, store: SessionStore, tmp_path: Path) -> Opened:
    wished = Preferences(theme="light", bell=False)
    return Opened(knee, store, Preferred(tmp_path / "preferences.toml", wished))


def app_that(load: Callable[[], Opened], settings: Settings | None = None) -> ScreenApp:
    environ = {"TERM": "xterm-256color"}
    return ScreenApp(load, FakeClock(), settings, environ=environ, tick=False)


async def until_open(app: ScreenApp, pilot, page: type) -> Driver:
    driver = Driver(app, pilot, FakeClock())
    for _ in range(100):
        await pilot.pause(0.02)
        if app._early is None and isinstance(app.screen, page):
            break
    await driver.settle()
    return driver


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_the_page_stands_there_before_anything_is_read(
    opened: Opened, size: tuple[int, int]
) -> None:
    seen = []

    def load() -> Opened:
        seen.append((type(app.screen), Driver(app, pilot, FakeClock()).text()))
        return opened

    app = app_that(load)
    async with app.run_test(size=size) as pilot:
        driver = await until_open(app, pilot, StartPage)
        then = driver.text()
    ((page, first),) = seen
    assert page is OpeningPage
    for told in ("Knee screen", "opening", "> ", "New screen", "Not a diagnosis", "quit"):
        assert told in first
    assert opened.protocol.battery.name in then
    # What stands on both does not jump.
    assert first.splitlines()[1:5] == then.splitlines()[1:5]


async def test_what_was_read_is_worked_with(opened: Opened) -> None:
    app = app_that(lambda: opened, Settings(colour_mode="dark"))
    async with app.run_test(size=(80, 24)) as pilot:
        await until_open(app, pilot, StartPage)
        assert app.is_open
        assert app.settings == Settings(colour_mode="light", bell=False)
        assert app.theme == "chairside-light"
        assert app.preferred is opened.preferred


async def test_keys_pressed_meanwhile_reach_their_pages_in_order(opened: Opened) -> None:
    def load() -> Opened:
        app.post_message(key_event("1"))
        return opened

    app = app_that(load)
    for key in "obnn":
        app.post_message(key_event(key))
    async with app.run_test(size=(80, 24)) as pilot:
        driver = await until_open(app, pilot, BeforeTestingPage)
        # o and b went to the preferences and back, n began a screen, n and 1 are answers in it.
        assert "2 of " in driver.text()


@pytest.mark.parametrize("error", [NotFoundError("There is no folder."), OSError(13, "no")])
async def test_what_keeps_it_from_opening_is_handed_on(error: Exception) -> None:
    def load() -> Opened:
        raise error

    app = app_that(load)
    async with app.run_test(size=(80, 24)):
        await settled(app)
    assert app.refusal is error
    assert app.return_code == 1
    assert not app.is_open


async def test_it_can_be_told_to_end_before_it_is_open(opened: Opened) -> None:
    def load() -> Opened:
        app.action_leave()
        return opened

    app = app_that(load)
    async with app.run_test(size=(80, 24)):
        await settled(app)
    assert app.return_code == 0
    assert app.refusal is None
