"""A key that was used on another page does nothing at the test one comes back to, then or later."""

from __future__ import annotations

from screen_tui.session.file import load_session
from screen_tui.tui.screens.result import ResultScreen

QUICK_S = 0.3
"""Between the keys of somebody who knows them; a repeated key is then waited for."""


async def quickly(driver, *keys: str) -> None:
    for key in keys:
        driver.clock.advance(QUICK_S)
        await driver.press_at(key, driver.clock.monotonic())


def on_disk(driver):
    controller = driver.app.controller
    return load_session(controller.store.path_of(controller.session.id))


async def test_the_same_reason_twice_marks_no_sign_of_the_next_test(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await quickly(driver, "s", "1", "s", "1")
        assert "Stance" in driver.text()
        await driver.wait(QUICK_S)
        assert driver.app.screen.trial.input.signs == ()
        assert on_disk(driver).under_way is None


async def test_a_page_closed_twice_by_the_same_key_leaves_the_test_where_it_is(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("n")
        here = driver.app.screen.itinerary.item
        await quickly(driver, "!", "b", "!", "b")
        await driver.wait(QUICK_S)
        assert driver.app.screen.itinerary.item == here


async def test_a_key_that_waits_does_nothing_on_a_page_that_was_left(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("n", "n", "space")
        page = driver.app.screen
        # The last Space comes so soon that it is waited for, and the test is left meanwhile.
        await quickly(driver, "space", "enter", "space")
        assert driver.app.keys.time_waits
        await driver.press_at("g", driver.clock.monotonic())
        assert isinstance(driver.app.screen, ResultScreen)
        driver.clock.advance(QUICK_S)
        page.tick()
        await driver.settle()
        assert on_disk(driver).under_way is None
