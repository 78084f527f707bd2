"""A usual visit within ten minutes, and less than one of them before testing."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.usual_visit import TRIALS, Press, after_testing, before_testing, trial

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.tui.screens.result import ResultScreen
from screen_tui.tui.screens.start import StartScreen
from screen_tui.tui.screens.test import TestScreen

ROOT = Path(__file__).parents[2]
SHIPPED = load_protocol([protocols_folder()])
BEFORE_S, IN_ALL_S, BEYOND = 60.0, 494.7, 41
"""Also in README.md."""


class Visit:
    """Hands that take the time a hand takes."""

    def __init__(self, driver) -> None:
        self.driver = driver
        self.began = driver.clock.monotonic()
        self.pressed: list[Press] = []

    @property
    def seconds(self) -> float:
        return self.driver.clock.monotonic() - self.began

    async def press(self, one: Press) -> None:
        self.driver.pass_time(one.after_s)
        await self.driver.press_at(one.key, self.driver.clock.monotonic())
        self.pressed.append(one)


async def test_a_usual_visit_takes_less_than_ten_minutes(open_program, store) -> None:
    async with open_program(protocol=SHIPPED, size=(80, 24)) as driver:
        visit, app = Visit(driver), driver.app
        for one in before_testing(len(SHIPPED.cautions)):
            await visit.press(one)
        assert isinstance(app.screen, TestScreen)
        before = visit.seconds
        for test, side, trials in TRIALS:
            item = app.screen.itinerary.item
            assert (item.test, item.side) == (test, side)
            for number in range(1, trials + 1):
                for one in trial(SHIPPED.test(test), side, number):
                    await visit.press(one)
                assert len(app.controller.session.trials_of(test, side)) == number
        assert isinstance(app.screen, ResultScreen)
        for one in after_testing():
            await visit.press(one)
        assert isinstance(app.screen, StartScreen)
        assert store.list()[0].finished
        beyond = sum(not one.own for one in visit.pressed)
        assert (before, visit.seconds) == pytest.approx((BEFORE_S, IN_ALL_S))
        assert beyond == BEYOND
        assert before <= 60
        assert visit.seconds <= 600
        assert beyond <= 41


def test_the_readme_has_the_figures() -> None:
    text = " ".join((ROOT / "README.md").read_text(encoding="utf-8").split())
    figures = (
        f"{BEFORE_S:g} s before testing, {IN_ALL_S / 60:.1f} minutes in all, {BEYOND} key presses"
    )
    assert figures in text
