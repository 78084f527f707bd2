"""Before testing: safety first, refer first, and the tests that follow."""

from __future__ import annotations

import pytest
from support.form_keys import NOT_ASKED

from screen_tui.session.store import SessionStore
from screen_tui.tui.screens.before_testing import BeforeTestingScreen, ReferFirstScreen
from screen_tui.tui.screens.note import NoteScreen
from screen_tui.tui.screens.test import TestScreen

SIZES = [(60, 20), (80, 24), (120, 40)]


@pytest.mark.parametrize("size", SIZES)
async def test_the_knee_and_the_safety_questions_come_first_and_whole(open_program, size) -> None:
    async with open_program(size) as driver:
        await driver.press("n")
        assert "Which knee is the complaint about?" in driver.text()
        await driver.press("1")
        first = next(line for line in driver.text().split("\n") if line.strip().startswith(">"))
        assert "Possible clot" in first
        assert "open" in first
        assert "Calf pain and swelling?" in driver.text()
        assert "y  yes" in driver.text()
        assert "n  no" in driver.text()


@pytest.mark.parametrize("size", SIZES)
async def test_the_tests_that_follow_are_listed_before_they_begin(open_program, size) -> None:
    async with open_program(size) as driver:
        await driver.press("n", *["down"] * 20)
        text = driver.words()
        assert "Tests, 6 min" in text
        for line in ("Straightening 2 min", "Stance 2 min", "Five rises 2 min"):
            assert line in text


async def test_the_minutes_change_with_the_answers_also_in_the_smallest_window(
    open_program,
) -> None:
    async with open_program() as driver:
        await driver.press("n")
        assert "tests 6 min" in driver.text()
        await driver.press("3", "n", "5")  # both knees; not a worry; no weight-bearing
        assert "tests 2 min" in driver.text()


@pytest.mark.parametrize("size", SIZES)
async def test_a_yes_says_refer_first_what_it_means_and_what_comes_next(open_program, size) -> None:
    async with open_program(size) as driver:
        await driver.press("n", "1", "y")
        assert isinstance(driver.app.screen, ReferFirstScreen)
        text = driver.words()
        for part in (
            "REFER FIRST",
            "Possible clot",
            "A clot must be ruled out.",
            "Refer the same day, by local policy.",
            "undo the yes",
            "known and cleared",
            "to a note that says refer first",
        ):
            assert part in text


async def test_a_yes_taken_back_leaves_no_trace(open_program) -> None:
    async with open_program() as driver:
        await driver.press("n", "1", "y", "b")
        assert isinstance(driver.app.screen, BeforeTestingScreen)
        assert "REFER FIRST" not in driver.text()
        assert driver.app.screen.form.raised == ()


async def test_a_yes_that_is_known_and_cleared_leads_on_to_the_tests(
    open_program, store: SessionStore
) -> None:
    async with open_program() as driver:
        await driver.press("n", "1", "y", "c")
        assert "Cleared by whom?" in driver.text()
        assert "> " in driver.text()
        assert "cleared by" in driver.text()
        await driver.type("the surgeon")
        await driver.press("enter")
        await driver.type("on Monday")
        await driver.press("enter", "enter")
        assert "REFER FIRST" not in driver.text()
        await driver.press("1", "enter", "1", "enter", "1", "enter", *NOT_ASKED)
        await driver.type("K-014")
        await driver.press("enter")
        await driver.type("67")
        await driver.press("enter", "1", "enter")
        assert isinstance(driver.app.screen, TestScreen)
    (summary,) = store.list()
    intake = store.load(summary.id).intake
    assert intake.cautions == ()
    assert [(one.caution, one.by, one.when) for one in intake.cleared] == [
        ("clot", "the surgeon", "on Monday")
    ]


async def test_a_yes_that_holds_ends_in_a_saved_note_that_says_refer_first(
    open_program, store: SessionStore
) -> None:
    async with open_program() as driver:
        await driver.press("n", "1", "y", "enter")
        assert "REFER FIRST" in driver.text()
        await driver.press("1", "enter", "1", "enter", "1", "enter", *NOT_ASKED)
        await driver.type("K-014")
        await driver.press("enter")
        await driver.type("67")
        await driver.press("enter", "1", "enter")
        assert isinstance(driver.app.screen, NoteScreen)
        assert "REFER FIRST" in driver.text()
        await driver.press("w", "1")
        saved = driver.app.controller.session
        note = (store.folder / "notes" / f"{saved.id}.txt").read_text(encoding="utf-8")
        assert "refer first" in note.lower()
        await driver.press("enter")
        assert "New session" in driver.text()
    session = store.load(saved.id)
    assert session.intake.cautions == ("clot",)
    assert session.trials == ()
    assert session.finished is not None


async def test_an_impossible_age_is_refused_at_the_question(open_program) -> None:
    async with open_program() as driver:
        await driver.press("n", "1", "n", "1", "enter", "1", "enter", "1", "enter", *NOT_ASKED)
        await driver.type("K-014")
        await driver.press("enter")
        await driver.type("300")
        await driver.press("enter")
        assert "300 years cannot be; type 5 to 110." in driver.words()
        assert isinstance(driver.app.screen, BeforeTestingScreen)


async def test_the_whole_form_leads_to_the_first_test_and_is_saved(
    open_program, answered, store: SessionStore
) -> None:
    async with open_program() as driver:
        await answered(driver)
        assert isinstance(driver.app.screen, TestScreen)
        (summary,) = store.list()
        assert summary.label == "K-014"
        assert store.load(summary.id).intake.side == "left"


async def test_without_weight_bearing_only_the_tests_that_fit_are_offered(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await answered(driver, bearing="5")
        items = driver.app.screen.itinerary.items
        assert {item.test for item in items} == {"bend"}


@pytest.mark.parametrize("size", SIZES)
async def test_what_is_typed_is_in_sight_while_it_is_typed(open_program, size) -> None:
    async with open_program(size) as driver:
        await driver.press("n", "1", "n", "1", "enter", "1", "enter", "1", "enter", *NOT_ASKED)
        for length in range(1, 6):
            await driver.type("K-014"[length - 1])
            assert f"{'K-014'[:length]}▏" in driver.text()
            assert "> Patient code" in driver.text()
        await driver.press("enter")
        await driver.type("6")
        assert "6▏ years" in driver.text()
        assert "K-014" in driver.text()


async def test_leaving_before_anything_is_answered_asks_nothing(open_program, store) -> None:
    async with open_program() as driver:
        await driver.press("n", "q")
        assert "New session" in driver.text()
    assert not store.folder.exists()


async def test_leaving_the_questions_asks_whether_the_answers_stay(open_program) -> None:
    async with open_program() as driver:
        await driver.press("n", "1", "q")
        assert "leave; the answers stay" in driver.text()
        assert "forget these answers" in driver.text()
        await driver.press("b")
        assert isinstance(driver.app.screen, BeforeTestingScreen)
        await driver.press("q", "1")
        assert "New session" in driver.text()
        assert "Resume the questions (1 of 12 answered)" in driver.words()


@pytest.mark.parametrize("size", SIZES)
async def test_an_emergency_leads_to_the_note_at_once(open_program, knee, size) -> None:
    urgent = knee.cautions[0].model_copy(update={"urgency": "now"})
    protocol = knee.model_copy(update={"cautions": (urgent, *knee.cautions[1:])})
    async with open_program(size, protocol=protocol) as driver:
        await driver.press("n", "1", "y")
        for part in ("NOW: CALL THE EMERGENCY NUMBER", "Usual next step", "then to a note"):
            assert part in driver.words()
        await driver.press("enter")
        assert "End here: refer first" in driver.text()
        assert "Begin the tests" not in driver.text()
        assert "2 open" in driver.text()
        await driver.press("up", "q", "1")
        assert "REFER FIRST: resume the questions" in driver.text()
        await driver.press("1", "down", *"K-014", "enter", *"67", "enter")
        assert isinstance(driver.app.screen, NoteScreen)
        text = " ".join(driver.app.screen.text.split())
        for part in ("weight-bearing not asked", "surgery not asked", "goals: not asked"):
            assert part in text
