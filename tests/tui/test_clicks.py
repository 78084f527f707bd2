"""A click or a tap does what the key does that it stands for."""

from __future__ import annotations

import pytest

from screen_tui.tui.drawing.rows import Span, press_at, pressing, row, row_cells
from screen_tui.tui.keys import KeyHint, key_pressed
from screen_tui.tui.screens.before_testing import BeforeTestingScreen
from screen_tui.tui.screens.dialogs import AskDialog, Question
from screen_tui.tui.screens.test import TestScreen


def test_a_click_presses_what_is_under_it() -> None:
    line = row(Span(" 3 ", "key", "3"), " ", Span("Pelvis drops", "plain", "3"))
    assert [press_at(line, column) for column in (0, 2, 3, 4, 15, 16)] == [
        "3",
        "3",
        "",
        "3",
        "3",
        "",
    ]
    wide = row(Span("膝", press="a"), Span("b", press="b"))
    assert [press_at(wide, column) for column in range(3)] == ["a", "a", "b"]


def test_what_presses_a_key_of_its_own_keeps_it() -> None:
    (line,) = pressing([row(Span("1", press="1"), " one")], "line 0")
    assert [span.press for span in line] == ["1", "line 0"]


@pytest.mark.parametrize(
    ("key", "presses"),
    [
        ("Enter", {"enter"}),
        ("Bksp", {"backspace"}),
        ("?", {"?"}),
        ("!", {"!"}),
        ("v", {"v"}),
        ("1", {"1"}),
        ("1-9", set()),
        ("0-9 -", set()),
        ("+/-", {"+", "-"}),
        ("Up/Down", {"up", "down"}),
        ("↑↓", {"up", "down"}),
        ("↑↓ Space", {"up", "down", "space"}),
        ("Space Enter", {"space", "enter"}),
    ],
)
def test_each_key_of_a_hint_can_be_clicked(key: str, presses: set[str]) -> None:
    hint = KeyHint(key, "does it")
    assert {span.press for span in hint.spans} - {""} == presses
    assert row_cells(hint.spans) == hint.width
    words = hint.spans[-1]
    assert words.press == (presses.pop() if len(presses) == 1 else "")


def test_a_click_has_the_time_at_which_it_was_made() -> None:
    event = key_pressed("space", 12.5)
    assert (event.key, event.character, event.time) == ("space", " ", 12.5)


async def test_the_questions_that_offer_answers_can_be_answered_with_a_mouse(open_program) -> None:
    async with open_program() as driver:
        await driver.click("New session")
        await driver.click("left")
        await driver.click("no", last=True)  # the safety question
        await driver.click("full")
        await driver.click("accept")  # no surgery
        await driver.click("pain")
        await driver.click("next")
        await driver.click("walking")
        await driver.click("next")
        await driver.click("not asked", last=True)  # pain now
        await driver.click("not asked", last=True)  # at its worst
        await driver.click("not asked", last=True)  # alone at home
        await driver.type("k-7")
        await driver.click("accept")
        await driver.type("67")
        await driver.click("accept")
        await driver.click("female")
        await driver.click("begin")
        assert isinstance(driver.app.screen, TestScreen)
        client = driver.app.controller.session.client
        assert (client.label, client.age, client.sex) == ("k-7", 67, "female")


async def test_a_click_on_a_question_goes_back_to_it(open_program) -> None:
    async with open_program() as driver:
        await driver.press("n", "1", "n", "1")
        page = driver.app.screen
        assert isinstance(page, BeforeTestingScreen)
        assert page.form is not None
        await driver.click("Weight-bearing")
        assert page.form.at == "weight_bearing"
        assert page.form.answers["weight_bearing"] == "full"


async def test_an_answer_can_be_clicked_and_own_words_typed(open_program) -> None:
    async with open_program() as driver:
        answers: list[str | None] = []
        question = Question("Why", ("Why?",), ("the first", "the second"), own_words="typed")
        driver.app.push_screen(AskDialog(question), answers.append)
        await driver.settle()
        await driver.click("the second")
        driver.app.push_screen(AskDialog(question), answers.append)
        await driver.settle()
        await driver.click("typed")
        await driver.type("o k")
        await driver.click("take these words")
        assert answers == ["the second", "o k"]


async def test_a_trial_is_timed_tagged_and_saved_with_a_mouse_alone(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.click("next test")
        await driver.click("next test")
        assert "Stance" in driver.text()
        # A press is timed by the click, whatever the display shows by then.
        start = driver.pass_time(5) or driver.clock.monotonic()
        await driver.click("READY", t=start)
        assert "RUNNING" in driver.text()
        driver.pass_time(9)
        await driver.click("Pelvis drops", t=start + 3.04)
        await driver.click("██", t=start + 8.0)
        await driver.wait(2)
        await driver.click("pain")
        await driver.click(" 4 ")
        await driver.click("save")
        (kept,) = driver.app.controller.session.trials
        assert kept.raw_value == pytest.approx(8.0)
        assert (kept.value, kept.pain, kept.signs) == (8.0, 4, ("pelvis-drops",))
        assert kept.sign_times == {"pelvis-drops": 3.0}


async def test_a_line_of_a_list_is_marked_and_then_chosen(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.click("more")
        await driver.click("all tests")
        await driver.click("all tests")
        await driver.click("Five rises: to do")
        await driver.click("Five rises: to do")
        assert driver.app.screen.itinerary.item.test == "rises"
