"""The question after the computer stood still, as it is read and answered on the screen."""

from __future__ import annotations

from datetime import timedelta

import pytest
from support.clock import FakeClock

from screen_tui.engine.assess import assess
from screen_tui.session.file import load_session
from screen_tui.trial.record import NOT_WATCHED, UNCONFIRMED
from screen_tui.tui.settings import Settings


def on_disk(driver):
    controller = driver.app.controller
    return load_session(controller.store.path_of(controller.session.id))


def values(protocol, session):
    """What the session comes to, in numbers."""
    return [one.value for one in assess(protocol, session).results if one.value is not None]


async def stance_through_a_gap(driver, answered, seconds: float = 61.0) -> None:
    """Begin a stance of the right leg; ten seconds later the computer stands still."""
    await answered(driver)
    await driver.press("n", "n", "space")
    await driver.wait(10)
    driver.clock.advance(seconds)
    driver.tick()
    await driver.settle()


@pytest.mark.parametrize("colour", ["dark", "monochrome"])
async def test_the_question_fits_the_smallest_window(open_program, answered, colour: str) -> None:
    async with open_program((60, 20), settings=Settings(colour_mode=colour)) as driver:
        await stance_through_a_gap(driver, answered)
        words = driver.words()
        assert "ASKING" in words
        assert "During this trial the computer stopped for 61 s." in words
        assert "Is the time right? y yes, watched to the end n no, void" in words
        assert "y yes, watched to the end n no, void" in words


async def test_y_and_enter_keep_it_and_only_then_it_is_a_result(
    open_program, answered, knee
) -> None:
    async with open_program() as driver:
        await stance_through_a_gap(driver, answered)
        told = on_disk(driver).under_way
        assert (told.value, told.void) == (45.0, UNCONFIRMED)
        await driver.press("enter", "enter")
        assert on_disk(driver).trials == ()
        await driver.press("y", "enter")
        session = on_disk(driver)
        assert [(trial.value, trial.counts) for trial in session.trials] == [(45.0, True)]
        assert values(knee, session) == [45.0]
        assert "the time was confirmed" in driver.words()


async def test_n_strikes_it_out_and_a_held_key_goes_no_further(open_program, answered) -> None:
    async with open_program() as driver:
        await stance_through_a_gap(driver, answered)
        pressed = driver.clock.monotonic()
        for stamp in (pressed, *(pressed + 0.5 + 0.033 * n for n in range(20))):
            await driver.press_at("n", stamp)
        await driver.wait(2)
        (trial,) = on_disk(driver).trials
        assert (trial.void, trial.side) == (NOT_WATCHED, "right")
        assert "RIGHT LEG >>" in driver.text()
        assert "READY" in driver.text()


async def test_a_trial_void_by_n_is_shown_and_not_used(open_program, answered, knee) -> None:
    async with open_program() as driver:
        await stance_through_a_gap(driver, answered)
        await driver.press("n")
        assert "Void: Stance, right, not watched to the end." in driver.words()
        assert values(knee, on_disk(driver)) == []


async def test_a_trial_the_program_died_over_is_shown_as_unconfirmed(
    open_program, answered, knee
) -> None:
    async with open_program() as driver:
        await stance_through_a_gap(driver, answered)
        driver.app.controller.store.release_all()  # as the system does when a program is killed
    async with open_program() as driver:
        await driver.press("1")
        words = driver.words()
        assert "Stance, right was interrupted at >= 45.0 s" in words
        assert "the program ended before its value was confirmed" in words
        assert "the computer stopped for 61 s" in words
        session = on_disk(driver)
        assert [trial.counts for trial in session.trials] == [False]
        assert values(knee, session) == []
        await driver.press("l", "x", "b")
        session = on_disk(driver)
        assert [trial.counts for trial in session.trials] == [True]
        assert values(knee, session) == [45.0]


async def test_stopping_the_whole_screen_while_it_asks_uses_nothing(open_program, answered) -> None:
    async with open_program() as driver:
        await stance_through_a_gap(driver, answered)
        await driver.press("!", "1")
        assert [trial.counts for trial in on_disk(driver).trials] == [False]


async def test_a_clock_that_was_set_back_is_shown_at_the_trial(
    open_program, answered, clock: FakeClock
) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("n", "n", "space")
        await driver.wait(5)
        clock._wall -= timedelta(hours=1)
        await driver.wait(3)
        assert "clock was set back by 60 min" in driver.words()
        await driver.press("space")
        assert "clock was set back by 60 min" in driver.words()
        await driver.press("enter")
        assert [trial.trust for trial in on_disk(driver).trials] == [("suspend",)]


async def test_a_computer_that_slept_is_asked_about(
    open_program, answered, clock: FakeClock
) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("n", "n", "space")
        await driver.wait(5)
        clock._wall += timedelta(seconds=61)
        await driver.press("space", "enter")
        assert "the computer slept for 61 s, or its clock was set forward" in driver.words()
        assert on_disk(driver).trials == ()
