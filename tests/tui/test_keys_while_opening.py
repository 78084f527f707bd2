"""Keys typed before anything is painted act on Start at most."""

from __future__ import annotations

import pytest
from support import small_protocol as small
from support.clock import FakeClock
from support.hands import Driver

from screen_tui.files.places import preferences_file
from screen_tui.preferences import Opened, Preferred
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.store import SessionStore
from screen_tui.tui.app import ScreenApp
from screen_tui.tui.screens.base import BaseScreen
from screen_tui.tui.screens.before_testing import BeforeTestingScreen
from screen_tui.tui.screens.help import HelpScreen
from screen_tui.tui.screens.preferences import PreferencesScreen
from screen_tui.tui.screens.start import StartScreen
from screen_tui.tui.screens.test import TestScreen


@pytest.fixture
def app(knee: ScreenProtocol, store: SessionStore, clock: FakeClock) -> ScreenApp:
    opened = Opened(knee, store, Preferred(preferences_file()))
    return ScreenApp(opened, clock, tick=False, environ={})


async def type_before_it_opened(driver: Driver, keys: str) -> None:
    """Keys that were read before anything was painted, and come to be handled one by one after."""
    for key in keys:
        driver.post(key, driver.clock.monotonic() - 0.5)
        await driver.settle()


@pytest.mark.parametrize(
    ("keys", "page"),
    [
        ("nnnnnnnn", BeforeTestingScreen),
        ("n1111", BeforeTestingScreen),
        ("n0000", BeforeTestingScreen),
        ("ob", PreferencesScreen),
        ("?b", HelpScreen),
        ("7", StartScreen),
    ],
)
async def test_they_open_one_page_and_do_nothing_on_it(
    app: ScreenApp, clock: FakeClock, store: SessionStore, keys: str, page: type[BaseScreen[None]]
) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        driver = Driver(app, pilot, clock)
        await type_before_it_opened(driver, keys)
        assert type(app.screen) is page
        if isinstance(app.screen, BeforeTestingScreen):
            assert app.screen.form is not None
            assert not app.screen.form.answers
        assert not list(store.folder.glob("*"))


@pytest.mark.parametrize("keys", ["\n", " ", "1", "2"])
async def test_no_line_is_opened_that_was_not_on_the_screen(
    app: ScreenApp, clock: FakeClock, store: SessionStore, keys: str
) -> None:
    store.save(small.session(intake={"side": "left", "goals": ["walking"]}))
    async with app.run_test(size=(80, 24)) as pilot:
        driver = Driver(app, pilot, clock)
        for key in keys:
            named = {"\n": "enter", " ": "space"}.get(key, key)
            driver.post(named, clock.monotonic() - 0.5)
            await driver.settle()
        assert isinstance(app.screen, StartScreen)
        await driver.press("enter")
        assert isinstance(app.screen, TestScreen)


async def test_from_the_first_painting_on_keys_do_what_they_say(
    app: ScreenApp, clock: FakeClock
) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        driver = Driver(app, pilot, clock)
        await type_before_it_opened(driver, "nn")
        await driver.press("1")
        assert isinstance(app.screen, BeforeTestingScreen)
        assert app.screen.form is not None
        assert len(app.screen.form.answers) == 1


async def test_a_page_that_replaced_start_before_it_was_painted_takes_keys_once_it_is(
    app: ScreenApp, clock: FakeClock
) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        driver = Driver(app, pilot, clock)
        app.go_before_testing()
        await driver.settle()
        await driver.press("1")
        assert isinstance(app.screen, BeforeTestingScreen)
        assert app.screen.form is not None
        assert len(app.screen.form.answers) == 1


async def test_keys_that_wait_together_open_one_page_once(
    app: ScreenApp, clock: FakeClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[BeforeTestingScreen] = []
    shown = BeforeTestingScreen.on_mount
    monkeypatch.setattr(
        BeforeTestingScreen, "on_mount", lambda page: [opened.append(page), shown(page)]
    )
    async with app.run_test(size=(80, 24)) as pilot:
        driver = Driver(app, pilot, clock)
        for _ in range(8):
            driver.post("n", clock.monotonic() - 0.5)
        await driver.settle()
        assert len(opened) == 1
