"""How many keys a whole screen takes beyond those that are the tests themselves."""

from __future__ import annotations

from pathlib import Path

from support.form_keys import SHIPPED_NOT_ASKED

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol
from screen_tui.timing.kinds.count_in_time import CountInTime
from screen_tui.timing.kinds.hold import Hold
from screen_tui.timing.kinds.measure import Measure
from screen_tui.timing.kinds.quality import Quality
from screen_tui.timing.kinds.repeat_hold import RepeatHold
from screen_tui.timing.kinds.steps import Steps
from screen_tui.timing.kinds.time_for_count import TimeForCount
from screen_tui.trial.battery import plan_battery
from screen_tui.tui.screens.result import ResultScreen
from screen_tui.tui.screens.test import TestScreen

ROOT = Path(__file__).parents[2]
ALL, BEYOND = 113, 54
"""Both knees, four goals, nothing to worry about, no sign seen; also told in README.md."""


A_HOLD_S = 12.0


class Counting:
    """Hands that count their presses, those that are test actions apart."""

    def __init__(self, driver) -> None:
        self.driver = driver
        self.actions = self.others = 0

    async def act(self, *keys: str) -> None:
        self.actions += len(keys)
        await self.driver.press(*keys)

    async def press(self, *keys: str) -> None:
        self.others += len(keys)
        await self.driver.press(*keys)


async def one_trial(hands: Counting, page: TestScreen) -> None:
    """Do one trial as it is done at the chairside, up to the key that keeps it."""
    driver, timer = hands.driver, page.itinerary.spec.timer
    match timer:
        case Measure():
            for number in ("0", "1"):
                await hands.act(number)
                await hands.press("enter")
        case Quality():
            await hands.act(*["space"] * timer.repetitions)
        case Hold():
            await hands.act("space")
            # Nobody holds a stance to its cap here, so that every series is done in full.
            if timer.cap_s > A_HOLD_S:
                await driver.wait(A_HOLD_S)
                await hands.act("space")
            else:
                await driver.wait(timer.cap_s + 1)
        case RepeatHold():
            for _ in range(timer.holds):
                await hands.act("space")
                await driver.wait(timer.hold_s + 1)
        case CountInTime():
            await hands.act(*["space"] * 13)
            await driver.wait(timer.window_s + 1)
            if page.trial.input.timer.asking:
                await hands.act("n")
        case TimeForCount():
            await hands.act(*["space"] * (timer.count + 1))
        case Steps():
            await hands.act(*["space"] * ((page.trial.input.steps or timer.steps) + 1))
        case _:
            await hands.act("space")
            await driver.wait(4)
            await hands.act("space")


async def test_a_whole_screen_takes_few_keys_beyond_the_tests(open_program) -> None:
    protocol = load_protocol([protocols_folder()], DEFAULT_BATTERY)
    async with open_program(protocol=protocol, size=(80, 24)) as driver:
        hands = Counting(driver)
        await hands.press("n", "3", "0")  # both knees; no to every safety question
        await hands.press("1")  # full weight
        await hands.press("enter")  # no surgery
        await hands.press("1", "enter")  # pain
        await hands.press("1", "2", "3", "4", "enter")
        await hands.press(*SHIPPED_NOT_ASKED)
        await hands.press(*"k7", "enter", *"67", "enter", "1")
        await hands.press("enter")
        for _ in range(100):
            page = driver.app.screen
            if not isinstance(page, TestScreen):
                break
            await one_trial(hands, page)
            await hands.press("enter")
        assert isinstance(driver.app.screen, ResultScreen)
        session = driver.app.controller.session
        offered = plan_battery(protocol, session.intake, session.client.age)
        assert {trial.test for trial in session.trials} == {item.test for item in offered}
        assert (hands.actions + hands.others, hands.others) == (ALL, BEYOND)


def test_the_readme_tells_the_number() -> None:
    text = " ".join((ROOT / "README.md").read_text(encoding="utf-8").split())
    assert f"{ALL} key presses, {BEYOND} of them" in text
