"""A trial goes on in a window that is smaller than pages need, such as beside a keyboard."""

from __future__ import annotations

import pytest
from test_set_up_screen import at

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.tui.screens.dialogs import StopDialog

PROTOCOL = load_protocol([protocols_folder()])
SMALL = (30, 6)


async def resized(driver, size: tuple[int, int]) -> list[str]:
    await driver.pilot.resize_terminal(*size)
    await driver.settle()
    return driver.text().split("\n")


async def test_a_walk_goes_on_and_is_saved_in_six_rows_of_thirty(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "walk-4m")
        start = driver.clock.monotonic() + 5
        driver.pass_time(5)
        await driver.press_at("space", start)
        lines = await resized(driver, SMALL)
        assert len(lines) == SMALL[1]
        assert all(len(line) <= SMALL[0] for line in lines)
        assert "BOTH LEGS" in lines[0]
        assert ">> RUNNING <<" in lines[0]
        assert sum("|" in line for line in lines) == 2  # digits drawn with strokes
        assert "Space  stop" in lines[-1]
        assert "!  safety" in lines[-1]
        driver.pass_time(4.25)
        await driver.press_at("1", start + 2)
        await driver.press_at("space", start + 4.25)
        text = driver.text()
        assert "STOPPED" in text
        assert "Pelvic drop" in text
        assert "Enter  save" in text
        await driver.press("enter")
        (trial,) = driver.app.controller.session.trials
        assert (trial.value, trial.signs) == (4.25, ("pelvis-drops",))


async def test_the_leg_and_what_is_said_stand_in_a_small_window_before_the_start(
    open_program,
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "single-leg-stance")
        lines = await resized(driver, SMALL)
        assert "RIGHT LEG >>" in lines[0]
        assert "Say: Stand on one leg" in driver.words()
        await driver.press("down")
        assert "Say: Stand on one leg" not in driver.words()
        await driver.press("up", "space")
        assert ">> RUNNING <<" in driver.text()


async def test_testing_can_be_stopped_from_a_small_window(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "walk-4m")
        await driver.press("space")
        await resized(driver, SMALL)
        await driver.press("!")
        assert isinstance(driver.app.screen, StopDialog)
        assert "Make the window larger" not in driver.text()
        await driver.press("1")
        session = driver.app.controller.session
        assert session.stopped
        assert session.trials[0].void


async def test_a_question_at_the_end_is_read_and_answered_in_a_small_window(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "chair-stands-30s")
        await resized(driver, SMALL)
        await driver.press("space", "space")
        await driver.wait(40)
        await driver.wait(1)
        assert "half-way up" in driver.words()
        await driver.press("y", "enter")
        assert driver.app.controller.session.trials[0].value == 2


@pytest.mark.parametrize("size", [(30, 4), (29, 6), (20, 3), (12, 2)])
async def test_in_still_less_there_is_a_plain_clock_and_the_keys_act(open_program, size) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "walk-4m")
        start = driver.clock.monotonic() + 5
        driver.pass_time(5)
        await driver.press_at("space", start)
        driver.pass_time(3)
        await resized(driver, size)
        assert "003.0" in driver.text()
        await driver.press_at("space", start + 3)
        await resized(driver, (80, 24))
        assert "STOPPED" in driver.text()
