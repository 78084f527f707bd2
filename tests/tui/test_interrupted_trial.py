"""A trial that was not kept when the program died is told on resume, not silently gone."""

from __future__ import annotations

import os
import signal

import pytest

from screen_tui.session.file import load_session


def on_disk(driver):
    controller = driver.app.controller
    return load_session(controller.store.path_of(controller.session.id))


async def to_stance(driver, answered) -> None:
    """Begin a screen and go to the stance, right leg."""
    await answered(driver)
    await driver.press("n", "n")
    assert "Stance" in driver.text()


def die(driver) -> None:
    """Let the system take the locks, as it does when a program is killed; nothing is saved."""
    driver.app.controller.store.release_all()


async def test_the_file_tells_of_a_trial_while_it_runs(open_program, answered) -> None:
    async with open_program() as driver:
        await to_stance(driver, answered)
        assert on_disk(driver).under_way is None
        await driver.press("space")
        told = on_disk(driver).under_way
        assert (told.test, told.side, told.value) == ("stance", "right", None)
        assert told.void.startswith("interrupted")
        assert told.recorded is not None
        await driver.press("1")
        assert on_disk(driver).under_way.signs == ("pelvis-drops",)


async def test_an_ended_trial_is_shown_with_its_value_until_it_is_saved(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await to_stance(driver, answered)
        await driver.press("space", "space")
        told = on_disk(driver).under_way
        assert told.value == 2.0
        await driver.press("enter")
        session = on_disk(driver)
        assert session.under_way is None
        assert [trial.value for trial in session.trials] == [2.0]
        assert session.trials[0].counts


async def test_taking_everything_back_leaves_nothing_under_way(open_program, answered) -> None:
    async with open_program() as driver:
        await to_stance(driver, answered)
        await driver.press("space", "backspace")
        assert on_disk(driver).under_way is None


async def test_numbers_typed_and_not_saved_are_shown(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("1", "2")
        assert on_disk(driver).under_way.value == 12


async def test_words_and_a_reason_given_before_the_end_are_shown_too(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await to_stance(driver, answered)
        await driver.press("1", "m", *"sore", "enter")
        assert on_disk(driver).under_way.note == "sore"
        await driver.press("space", "e", "1")
        told = on_disk(driver).under_way
        assert (told.note, told.ended) == ("sore", "foot-down")


async def test_leaving_a_trial_that_was_only_prepared_leaves_nothing_under_way(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await to_stance(driver, answered)
        await driver.press("1", "q", "1")
        assert "New session" in driver.text()
        (summary,) = driver.app.controller.store.list()
        assert load_session(summary.path).under_way is None


async def test_on_resume_it_is_shown_as_interrupted_and_is_void(open_program, answered) -> None:
    async with open_program() as driver:
        await to_stance(driver, answered)
        await driver.press("n", "space", "1")
        die(driver)
    async with open_program() as driver:
        await driver.press("1")
        assert "Stance, left was interrupted" in driver.words()
        assert driver.app.screen.itinerary.item.side == "left"
        (trial,) = on_disk(driver).trials
        assert not trial.counts
        assert trial.signs == ("pelvis-drops",)
        assert on_disk(driver).under_way is None
        await driver.press("space", "space", "enter")
        assert [trial.counts for trial in on_disk(driver).trials] == [False, True]


async def test_one_that_had_ended_can_be_counted_after_all(open_program, answered) -> None:
    async with open_program() as driver:
        await to_stance(driver, answered)
        await driver.press("space", "space")
        die(driver)
    async with open_program() as driver:
        await driver.press("1")
        assert "was interrupted at 2.0 s" in driver.words()
        await driver.press("l", "x", "b")
        (trial,) = on_disk(driver).trials
        assert (trial.counts, trial.value) == (True, 2.0)


async def test_a_session_nobody_interrupted_says_nothing(open_program, answered) -> None:
    async with open_program() as driver:
        await to_stance(driver, answered)
        await driver.press("space", "space", "enter")
        die(driver)
    async with open_program() as driver:
        await driver.press("1")
        assert "interrupted" not in driver.words()


@pytest.mark.parametrize("number", [signal.SIGHUP, signal.SIGTERM, signal.SIGKILL])
@pytest.mark.parametrize("begun", [["space"], ["space", "1", "space"]])
async def test_a_closed_window_equals_a_kill_when_the_session_is_gone_on_with(
    open_program, answered, number: signal.Signals, begun: list[str]
) -> None:
    async with open_program() as driver:
        await to_stance(driver, answered)
        await driver.press(*begun)
        if number is signal.SIGKILL:
            die(driver)
        else:
            os.kill(os.getpid(), number)
            await driver.settle()
            assert driver.app.is_leaving
    async with open_program() as driver:
        await driver.press("enter")  # it is under the cursor
        assert "Stance, right was interrupted" in driver.words()
        assert "the program" in driver.words()
        item = driver.app.screen.itinerary.item
        assert (item.test, item.side) == ("stance", "right")
        (trial,) = driver.app.controller.session.trials
        assert trial.void
        await driver.press("space", "space", "enter")
        assert len(driver.app.controller.session.trials) == 2
        await driver.press("q", "1")
        assert "was interrupted" not in driver.words(), "it is said of the last trial alone"
