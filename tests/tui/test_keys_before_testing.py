"""How many keys a usual patient takes before the first test, and how nobody is passed over."""

from __future__ import annotations

import pytest

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.tui.screens.before_testing import BeforeTestingScreen
from screen_tui.tui.screens.test import TestScreen

SHIPPED = load_protocol([protocols_folder()])
MOST = 22
"""Presses beyond the code and the age, which are typed and each accepted with Enter."""


@pytest.mark.parametrize(("size", "presses"), [((80, 24), 20), ((120, 40), 20), ((60, 20), 22)])
async def test_a_usual_patient_takes_few_presses(open_program, size, presses: int) -> None:
    pages = 2 if size == (60, 20) else 1
    keys = [
        *("n", "l"),  # a new session, the left knee
        *["0"] * pages,  # no to every safety question
        "1",  # full weight-bearing
        *["-"] * pages,  # no surgery, nothing of the rest of the history
        *("1", "enter"),  # pain
        *("1", "4", "enter"),  # walking and stairs
        *("2", "5", "n"),  # pain now and at its worst, not alone at home
        *("1", "4", "1", "enter", "1"),  # where, how it began, worse with, work
    ]
    async with open_program(protocol=SHIPPED, size=size) as driver:
        await driver.press(*keys)
        assert driver.app.screen.form.at == "label", driver.text()
        await driver.type("K-014")
        await driver.press("enter")
        await driver.type("34")
        await driver.press("enter", "f", "enter")
        assert isinstance(driver.app.screen, TestScreen)
        intake = driver.app.controller.session.intake
    assert len(keys) + len(("f", "enter")) == presses <= MOST
    assert len(intake.safety_asked) == len(SHIPPED.cautions)
    assert set(intake.history) == {question.id for question in SHIPPED.history}
    assert (intake.recent_surgery_weeks, intake.alone_at_home) == (None, False)


async def test_a_line_that_was_not_on_the_screen_is_not_answered(open_program) -> None:
    async with open_program(protocol=SHIPPED, size=(60, 20)) as driver:
        await driver.press("n", "1", "0")
        page = driver.app.screen
        assert not any(one.id in page.form.answers for one in SHIPPED.cautions)
        assert "Read these lines as well" in driver.words()
        assert "Two falls in a year" in driver.text()
        await driver.press("0")
        assert page.form.part == "history"
        assert all(page.form.answers[one.id] is False for one in SHIPPED.cautions)


async def test_in_the_smallest_window_each_line_is_read_before_it_is_answered(open_program) -> None:
    async with open_program(protocol=SHIPPED, size=(30, 6)) as driver:
        driver.app.go_before_testing()
        await driver.settle()
        await driver.press("1")
        page = driver.app.screen
        for one in SHIPPED.cautions[1:]:
            assert page.form.part == "safety"
            await driver.press("0")
            assert page.form.at == one.id
        await driver.press("0")
        assert page.form.part == "history"


async def test_what_is_pressed_before_the_lines_are_drawn_answers_none(open_program) -> None:
    async with open_program(protocol=SHIPPED, size=(80, 24)) as driver:
        t = driver.clock.monotonic()
        for at, key in enumerate("n10"):
            driver.post(key, t + at / 100 - 1)
        await driver.settle()
        form = driver.app.screen.form
        assert form is not None
        assert not any(one.id in form.answers for one in SHIPPED.cautions)


async def test_detail_of_the_question_in_hand_is_one_key_away(open_program) -> None:
    async with open_program(protocol=SHIPPED, size=(60, 20)) as driver:
        for caution in SHIPPED.cautions:
            driver.app.go_before_testing()
            await driver.settle()
            page = driver.app.screen
            while page.form.at != caution.id:
                await driver.press("down")
            assert " ".join(caution.question.split()) in driver.words()
            await driver.press("?")
            read = await driver.read_on()
            for part in (*caution.details, caution.means, caution.next_step):
                assert all(word in read for word in part.split())
            await driver.press("b")
            assert page.form.at == caution.id


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (30, 6)])
async def test_a_pasted_name_is_refused_with_a_sentence(open_program, size) -> None:
    async with open_program(protocol=SHIPPED, size=(80, 24)) as driver:
        await driver.press("n")
        page = driver.app.screen
        assert isinstance(page, BeforeTestingScreen)
        while page.form.at != "label":
            await driver.press("down")
        await driver.paste("Anna Berg")
        await driver.pilot.resize_terminal(*size)
        await driver.press("enter")
        assert page.form.at == "label"
        assert "That looks like a full name; use a short code such as K-014." in (
            driver.words() if size[1] > 6 else page.form.refusals["label"]
        )


KEYS = "1 0 n y enter b - 3 enter 1 down down up backspace ? b k b tab 5 t l f q b x ! enter"


@pytest.mark.parametrize("size", [(30, 6), (30, 20), (60, 6), (45, 9)])
async def test_a_small_window_shows_the_line_in_hand_and_takes_keys(open_program, size) -> None:
    async with open_program(protocol=SHIPPED, size=size) as driver:
        driver.app.go_before_testing()
        await driver.settle()
        for key in (*KEYS.split(), *["enter"] * 40):
            await driver.press(key)
            page = driver.app.screen
            if isinstance(page, BeforeTestingScreen):
                lines = driver.text().split("\n")
                assert any(line.startswith(" > ") for line in lines), (key, driver.text())
