"""A student at the keys: the ways through the practice screens that several tests take."""

from __future__ import annotations

from pathlib import Path

from screen_tui.files.toml import read_toml
from screen_tui.practice.case import OWN_WORDS_OPTIONAL, Case
from screen_tui.practice.files import run_in
from screen_tui.practice.run import PracticeRun
from screen_tui.timing.kinds.measure import Measure
from screen_tui.timing.kinds.quality import Quality
from screen_tui.timing.kinds.repeat_hold import RepeatHold
from screen_tui.tui.screens.before_testing import ReferFirstScreen
from screen_tui.tui.screens.practice import CommitScreen, PracticeQuestionsScreen
from screen_tui.tui.screens.test import TestScreen
from support.hands import Driver


async def open_case(driver: Driver, case_id: str) -> None:
    """From Start to the first question of a case."""
    await driver.press("p")
    page = driver.app.screen
    page.at = [case.id for case in page.cases].index(case_id)
    await driver.press("enter", "enter")
    assert isinstance(driver.app.screen, PracticeQuestionsScreen)


async def answer_rightly(driver: Driver, case: Case) -> None:
    """Hear all there is to hear, and tick it as it is meant."""
    truths = {said.question: said.truth for said in case.said}
    while isinstance(driver.app.screen, PracticeQuestionsScreen):
        page = driver.app.screen
        question = page.form.current
        while "hear more" in driver.text():
            await driver.press("h")
        truth = truths.get(question.id)
        if question.optional and truth is None:
            await driver.press("enter")
            continue
        if question.kind == "yes-no":
            await driver.press("y" if truth else "n")
            if isinstance(driver.app.screen, ReferFirstScreen):
                await driver.press("enter")
            continue
        ids = [option for option, _ in question.options]
        if question.kind == "choice":
            wanted = page.form.answers.get(question.id, truth)
            await driver.press(question.option_keys[ids.index(wanted)])
        elif question.id in OWN_WORDS_OPTIONAL or truth is None:
            await driver.press("enter")
        elif question.kind == "several":
            await driver.press(*(question.option_keys[ids.index(one)] for one in truth), "enter")
        else:
            await driver.type(f"{truth:g}")
            await driver.press("enter")


async def do_rightly(driver: Driver) -> None:
    """All trials of all tests that can be done lying, without any error."""
    while isinstance(driver.app.screen, TestScreen):
        page = driver.app.screen
        timeline, spec = page.patient.stage(page.trial).timeline, page.trial.spec
        if page.series_over:
            await driver.press("enter")
        elif timeline is None:
            await driver.press("s", "1")
        elif isinstance(spec.timer, Measure):
            for number in timeline.shown.numbers.values():
                await driver.type(f"{number:g}")
                await driver.press("enter")
            await _note_and_keep(driver, page)
        elif isinstance(spec.timer, Quality):
            await driver.press("space")
            for _ in timeline.repetitions:
                await driver.press("space")
            await _note_and_keep(driver, page)
        else:
            assert isinstance(spec.timer, RepeatHold), spec.id
            await _holds(driver, page)
            await _note_and_keep(driver, page)


async def _holds(driver: Driver, page: TestScreen) -> None:
    spec, timeline = page.trial.spec, page.patient.stage(page.trial).timeline
    driver.pass_time(5.0)
    start = driver.clock.monotonic()
    for begin, let_go in timeline.holds:
        driver.pass_time(start + begin - driver.clock.monotonic())
        await driver.press_at("space", driver.clock.monotonic())
        driver.pass_time(let_go - begin)
        driver.tick()
        if let_go - begin < spec.timer.hold_s - 0.001:
            await driver.press_at("space", driver.clock.monotonic())
    driver.pass_time(1.0)
    driver.tick()


async def _note_and_keep(driver: Driver, page: TestScreen) -> None:
    timeline = page.patient.stage(page.trial).timeline
    for sign in timeline.first_seen:
        (digit,) = [one.digit for one in page.trial.signs if one.id == sign]
        await driver.press(str(digit))
    if timeline.shown.pain is not None:
        await driver.press("p", str(timeline.shown.pain))
    await driver.press("enter")


async def commit(driver: Driver, *keys: str) -> None:
    """Answer with these keys, and commit."""
    assert isinstance(driver.app.screen, CommitScreen)
    await driver.press(*keys)
    assert driver.app.screen.form.step is None, driver.text()
    await driver.press("enter")


def only_run(folder: Path) -> PracticeRun:
    """The one run of a folder."""
    (path,) = folder.glob("*.toml")
    return run_in(read_toml(path))
