"""How long the screen has taken, and about how much is left, beside the test at hand."""

from __future__ import annotations


def head(driver) -> str:
    return " ".join(driver.text().splitlines()[0].split())


async def test_time_goes_by_in_whole_minutes_since_the_screen_was_begun(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await answered(driver)
        left = driver.app.screen.itinerary.minutes_left
        assert f"0 min, {left:.0f} left" in head(driver)
        await driver.wait(61)
        assert f"1 min, {left:.0f} left" in head(driver)


async def test_what_is_left_falls_with_each_trial_and_never_shows_too_little(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("n", "n")  # the stance: two trials, one minute a leg
        before = driver.app.screen.itinerary.minutes_left
        await driver.press("space", "space", "enter")
        assert driver.app.screen.itinerary.minutes_left == before - 0.5
        assert f", {before:.0f} left" in head(driver)  # half a minute more is told as a whole one


async def test_a_resumed_screen_counts_its_own_sitting(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.wait(300)
        assert "5 min, " in head(driver)
        await driver.press("q", "1")
        assert "0 min, " in head(driver)
