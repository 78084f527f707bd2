"""Words to a trial, corrections by hand, and the way to any test, at the test itself."""

from __future__ import annotations

import pytest

from screen_tui.session.file import load_session
from screen_tui.tui.screens.list import PickScreen
from screen_tui.tui.screens.test import TestScreen
from screen_tui.tui.screens.trials import TrialsScreen


async def at_stance(driver, answered) -> None:
    """Begin a screen and go to the stance, right leg."""
    await answered(driver)
    await driver.press("n", "n")
    assert "Stance" in driver.text()


async def hold(driver, seconds: float) -> None:
    """Time a hold and leave it ended."""
    driver.pass_time(5)
    start = driver.clock.monotonic()
    await driver.press_at("space", start)
    driver.pass_time(seconds)
    await driver.press_at("space", start + seconds)
    await driver.wait(1)


def trials(driver):
    controller = driver.app.controller
    return load_session(controller.store.path_of(controller.session.id)).trials


async def test_words_go_with_the_trial_at_hand(open_program, answered) -> None:
    async with open_program() as driver:
        await at_stance(driver, answered)
        await hold(driver, 6.0)
        await driver.press("m")
        await driver.type("left shoe off")
        await driver.press("enter")
        assert "comment: left shoe off" in driver.words()
        await driver.press("enter")
        assert trials(driver)[-1].note == "left shoe off"


async def test_words_after_saving_go_to_the_trial_saved_last(open_program, answered) -> None:
    async with open_program() as driver:
        await at_stance(driver, answered)
        await hold(driver, 6.0)
        await driver.press("enter", "m")
        assert "saved last" in driver.words()
        await driver.type("swayed")
        await driver.press("enter")
        (kept,) = trials(driver)
        assert (kept.note, kept.value) == ("swayed", 6.0)


async def test_a_value_is_corrected_with_a_reason_and_the_timed_one_stays(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await at_stance(driver, answered)
        await hold(driver, 6.0)
        await driver.press("f")
        await driver.type("4.5")
        await driver.press("enter", "1")
        assert "corrected by hand" in driver.words()
        await driver.press("enter")
        (kept,) = trials(driver)
        assert (kept.value, kept.corrected_from) == (4.5, 6.0)
        assert kept.raw_value == pytest.approx(6.0)
        assert kept.correction == "key pressed too early or too late"


async def test_a_correction_is_taken_back_like_anything_done_by_hand(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await at_stance(driver, answered)
        await hold(driver, 6.0)
        await driver.press("f")
        await driver.type("4.5")
        await driver.press("enter", "1", "backspace")
        assert "corrected by hand" not in driver.words()


async def test_an_impossible_value_is_refused_where_it_is_typed(open_program, answered) -> None:
    async with open_program() as driver:
        await at_stance(driver, answered)
        await hold(driver, 6.0)
        await driver.press("f")
        await driver.type("46")
        await driver.press("enter")
        assert "outside 0 to 45" in driver.words()
        await driver.press("backspace", "backspace")
        await driver.type("6")
        await driver.press("enter")
        assert "It is 6 already." in driver.words()
        await driver.press("backspace", "backspace", "backspace")
        assert isinstance(driver.app.screen, TestScreen)


async def test_what_is_not_there_cannot_be_noted_or_corrected(open_program, answered) -> None:
    async with open_program() as driver:
        await at_stance(driver, answered)
        await driver.press("m")
        assert "Nothing to comment on yet" in driver.words()
        await driver.press("f")
        assert "Nothing to correct yet" in driver.words()


async def test_signs_tagged_while_the_clock_runs_keep_their_time(open_program, answered) -> None:
    async with open_program() as driver:
        await at_stance(driver, answered)
        driver.pass_time(5)
        start = driver.clock.monotonic()
        await driver.press_at("space", start)
        await driver.press_at("1", start + 2.26)
        driver.pass_time(6)
        await driver.press_at("space", start + 6)
        await driver.press("4", "enter")
        (kept,) = trials(driver)
        assert kept.signs == ("pelvis-drops", "arch-collapses")
        assert kept.sign_times == {"pelvis-drops": 2.3}


async def test_any_test_is_one_list_away(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        first = driver.app.screen.itinerary.item
        await driver.press("s", "1")
        await driver.press("j")
        assert isinstance(driver.app.screen, PickScreen)
        assert "skipped: not safe today" in driver.words()
        await driver.press("1")
        assert driver.app.screen.itinerary.item == first
        assert "Skipped: not safe today" in driver.words()
        await driver.press("j", "down", "down", "enter")
        assert driver.app.screen.itinerary.item == driver.app.screen.itinerary.items[2]


async def test_what_is_done_only_when_asked_for_waits_in_the_list(
    open_program, answered, knee
) -> None:
    first, *others = knee.battery.items
    asked = first.model_copy(update={"when_asked": True})
    items = (*others, asked)
    protocol = knee.model_copy(update={"battery": knee.battery.model_copy(update={"items": items})})
    async with open_program(protocol=protocol) as driver:
        await answered(driver)
        before = driver.app.screen.itinerary.items
        assert asked.test not in {one.test for one in before}
        await driver.press("j")
        lines = driver.app.screen.lines()
        waiting = [one for one in lines if one.text.endswith(": offered when asked for")]
        assert len(lines) == len(before) + len(waiting)
        await driver.press(waiting[0].key)
        itinerary = driver.app.screen.itinerary
        # Both legs belong to the visit from now on, and nothing has to be overruled.
        assert itinerary.item.test == asked.test
        assert len(itinerary.items) == len(lines)
        assert "Withheld" not in driver.words()
        await driver.press("j")
        assert not [one for one in driver.app.screen.lines() if one.text.endswith("asked for")]


async def test_a_saved_trial_is_struck_out_and_counted_again_from_the_list(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await at_stance(driver, answered)
        await hold(driver, 6.0)
        await driver.press("enter", "l")
        assert isinstance(driver.app.screen, TrialsScreen)
        assert "6.0 s" in driver.words()
        await driver.press("enter")
        assert trials(driver)[0].counts
        await driver.press("x", "2")
        assert trials(driver)[0].void == "wrong key pressed"
        assert "VOID (wrong key pressed)" in driver.words()
        await driver.press("b")
        assert "trial 1 of 2" in driver.words()
        await driver.press("l", "x", "b")
        assert trials(driver)[0].counts
        assert "trial 2 of 2" in driver.words()


async def test_a_saved_trial_is_corrected_and_noted_from_the_list(open_program, answered) -> None:
    async with open_program() as driver:
        await at_stance(driver, answered)
        await hold(driver, 6.0)
        await driver.press("enter", "l", "f")
        await driver.type("7")
        await driver.press("enter", "3")
        await driver.press("m")
        await driver.type("by the wall")
        await driver.press("enter")
        (kept,) = trials(driver)
        assert (kept.value, kept.corrected_from, kept.note) == (7, 6.0, "by the wall")
        assert kept.correction == "timed with another watch"


async def test_the_list_says_when_there_is_nothing_in_it(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("l")
        assert "No trial was saved yet" in driver.words()
        await driver.press("x", "f", "m", "enter", "down", "b")
        assert isinstance(driver.app.screen, TestScreen)


async def test_no_correction_is_offered_of_a_number_that_was_typed(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("5", "enter", "l")
        assert len(trials(driver)) == 1
        assert "add a comment" in driver.words()
        assert "correct the value" not in driver.words()
        await driver.press("f")
        assert isinstance(driver.app.screen, TrialsScreen)
