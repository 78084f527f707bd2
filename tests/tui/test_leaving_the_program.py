"""Ctrl-C and Ctrl-Q end the program from anywhere; a trial under way is asked about first."""

from __future__ import annotations

from pathlib import Path

import pytest

from screen_tui.session.file import load_session
from screen_tui.tui.screens.dialogs import LeaveDialog
from screen_tui.tui.screens.test import TestScreen

ROOT = Path(__file__).parents[2]
KEYS = ("ctrl+c", "ctrl+q")
UNDER_WAY = {
    "runs": "space",
    "is ended": "space space",
    "is prepared": "1",
    "has a note typed": "space space m x",
    "is beside help": "1 ?",
}


async def at_a_stance(driver, answered) -> None:
    await answered(driver)
    await driver.press("n", "n")


def on_disk(driver):
    controller = driver.app.controller
    return load_session(controller.store.path_of(controller.session.id))


@pytest.mark.parametrize(
    ("key", "again"), [("ctrl+c", "ctrl+c"), ("ctrl+q", "ctrl+c"), ("ctrl+q", "1")]
)
@pytest.mark.parametrize("trial", UNDER_WAY)
async def test_a_trial_under_way_is_asked_about_and_then_struck_out(
    open_program, answered, trial: str, key: str, again: str
) -> None:
    async with open_program() as driver:
        await at_a_stance(driver, answered)
        await driver.press(*UNDER_WAY[trial].split(), key)
        assert isinstance(driver.app.screen, LeaveDialog)
        assert "Stance, right: this trial is not saved yet." in driver.words()
        assert not driver.app.is_leaving
        assert on_disk(driver).trials == ()
        await driver.press(again)
    assert driver.app.return_code == 0
    assert [one.void for one in on_disk(driver).trials] == ["the program was ended"]


@pytest.mark.parametrize("key", KEYS)
async def test_going_back_goes_on_with_the_trial_and_asks_again_the_next_time(
    open_program, answered, key: str
) -> None:
    async with open_program() as driver:
        await at_a_stance(driver, answered)
        await driver.press("space", key)
        await driver.press("b")
        assert isinstance(driver.app.screen, TestScreen)
        assert "RUNNING" in driver.text()
        await driver.press(key)
        assert isinstance(driver.app.screen, LeaveDialog)
        await driver.press("b", "space", "enter")
        assert [one.void for one in on_disk(driver).trials] == [""]


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("way", ["", "?", "n n n", "n y", "v", "o", "p"])
async def test_without_a_session_it_ends_at_once(open_program, key: str, way: str) -> None:
    async with open_program() as driver:
        await driver.press(*way.split(), key)
        assert driver.app.is_leaving
    assert driver.app.return_code == 0


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("way", ["", "?", "s", "s 0 x", "l", "!", "g", "g enter enter w"])
async def test_with_no_trial_under_way_it_ends_at_once(
    open_program, answered, key: str, way: str
) -> None:
    async with open_program() as driver:
        await at_a_stance(driver, answered)
        await driver.press("space", "space", "enter")
        await driver.press(*way.split(), key)
        assert driver.app.is_leaving
    assert driver.app.return_code == 0
    assert [one.void for one in on_disk(driver).trials] == [""]


async def test_both_keys_are_shown(open_program) -> None:
    async with open_program(size=(80, 60)) as driver:
        await driver.press("?")
        help_page = await driver.read_on()
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for text in (help_page, readme):
        assert "Ctrl-C" in text
        assert "Ctrl-Q" in text
