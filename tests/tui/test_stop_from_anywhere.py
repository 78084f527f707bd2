"""One key stops the whole screen for safety, wherever one is."""

from __future__ import annotations

import pytest

from screen_tui.session.file import load_session
from screen_tui.tui.screens.dialogs import AskDialog
from screen_tui.tui.screens.help import HelpScreen
from screen_tui.tui.screens.result import ResultScreen
from screen_tui.tui.screens.start import StartScreen


async def stop(driver) -> None:
    """Press the key and give the first reason."""
    await driver.press("!")
    assert "STOP TESTING" in driver.text()
    await driver.press("1")


@pytest.mark.parametrize("way", ["", "?", "s", "j", "l", "g", "g enter", "g enter enter", "g ?"])
async def test_the_screen_is_stopped_from_every_page(open_program, answered, way) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press(*way.split())
        await stop(driver)
        controller = driver.app.controller
        assert (
            load_session(controller.store.path_of(controller.session.id)).stopped == "Chest pain."
        )
        assert isinstance(driver.app.screen, ResultScreen)
        assert "TESTING STOPPED" in driver.text()
        await driver.press("b")
        assert isinstance(driver.app.screen, StartScreen)


async def test_going_back_from_the_question_changes_nothing(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("?", "!", "b")
        assert isinstance(driver.app.screen, HelpScreen)
        assert driver.app.controller.session.stopped == ""
        await driver.press("!", "!")
        assert isinstance(driver.app.screen, AskDialog)
        assert len(driver.app.screen_stack) == 4  # the framework's own, test, help, question


async def test_where_words_are_typed_it_is_a_character(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("s", "0")
        assert "stop testing" not in driver.text()
        await driver.type("no!")
        assert "> no!" in driver.text()


async def test_without_a_session_there_is_nothing_to_stop(open_program) -> None:
    async with open_program() as driver:
        await driver.press("!")
        assert isinstance(driver.app.screen, StartScreen)
        assert "stop testing" not in driver.text()


async def test_a_digit_that_is_held_answers_and_tags_nothing(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("n", "n", "s")
        driver.pass_time(5)
        pressed = driver.clock.monotonic()
        for stamp in (pressed, *(pressed + 0.5 + 0.033 * n for n in range(20))):
            await driver.press_at("1", stamp)
        await driver.wait(3)
        page = driver.app.screen
        assert page.itinerary.item.side == "left"
        assert page.trial.signs
        assert page.trial.input.signs == ()


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_a_rule_of_the_clinic_beyond_the_ninth_is_reached_by_the_arrows(
    open_program, answered, knee, size
) -> None:
    rule = knee.stop_rules[0]
    rules = tuple(rule.model_copy(update={"text": f"Rule {n}."}) for n in range(1, 13))
    protocol = knee.model_copy(update={"stop_rules": rules})
    async with open_program(size, protocol=protocol) as driver:
        await answered(driver)
        await driver.press("!", "enter")
        assert isinstance(driver.app.screen, AskDialog), "Enter alone answers nothing"
        await driver.press(*["down"] * 11)
        assert "Rule 11." in driver.text()
        await driver.press("enter")
        assert driver.app.controller.session.stopped == "Rule 11."
