"""A safety question whose no a trial contradicts is asked again at the test."""

from __future__ import annotations

import pytest

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.model import ASKED_AGAIN, Client, Intake
from screen_tui.tui.screens.dialogs import AskDialog
from screen_tui.tui.screens.result import ResultScreen
from screen_tui.tui.screens.test import TestScreen

PROTOCOL = load_protocol([protocols_folder()])
EXTENSOR = "extensor-mechanism"


async def lag_of_35(driver) -> None:
    """Save a knee that is straight when placed and 35 degrees short by its own muscle."""
    driver.app.controller.begin(Client(label="K-001", age=61), Intake(side="left"))
    driver.app.push_screen(TestScreen())
    await driver.settle()
    await driver.press(*"0", "enter", *"35", "enter", "enter")
    assert len(driver.app.controller.session.trials) == 1


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_a_lag_of_35_degrees_asks_the_extensor_question_again(open_program, size) -> None:
    async with open_program(size, protocol=PROTOCOL) as driver:
        await lag_of_35(driver)
        assert isinstance(driver.app.screen, AskDialog)
        said = driver.words()
        assert "Ask again" in said
        assert "lag of 30 degrees or more" in said
        assert "nothing is started until it is answered" in said


async def test_a_yes_refers_first(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await lag_of_35(driver)
        await driver.press("1")
        assert driver.app.controller.session.intake.cautions == (EXTENSOR,)
        assert isinstance(driver.app.screen, ResultScreen)
        assert "REFER FIRST" in driver.text()


async def test_a_no_is_known_and_cleared_and_asked_no_more(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await lag_of_35(driver)
        await driver.press("2")
        (cleared,) = driver.app.controller.session.intake.cleared
        assert (cleared.caution, cleared.by) == (EXTENSOR, ASKED_AGAIN)
        assert "lag of 30 degrees" in cleared.words
        assert isinstance(driver.app.screen, TestScreen)
        await driver.press("b", "b", *"0", "enter", *"36", "enter", "enter")
        assert isinstance(driver.app.screen, TestScreen)


async def test_left_open_it_is_not_asked_at_every_trial_and_nothing_is_started(
    open_program,
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await lag_of_35(driver)
        await driver.press("b")
        assert isinstance(driver.app.screen, TestScreen)
        await driver.press("g")
        assert "REFER FIRST" in driver.text()
        assert driver.app.controller.session.intake.cautions == ()
