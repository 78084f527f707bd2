"""Result and Note: the verdict first, the plan on a second page, and the note in a file."""

from __future__ import annotations

from pathlib import Path

import pytest
from support import small_protocol as small

from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol
from screen_tui.report.note import MOST_LINES
from screen_tui.session.store import SessionStore
from screen_tui.tui.screens.note import NoteScreen, SheetScreen
from screen_tui.tui.screens.result import DetailsScreen, PlanScreen, ResultScreen
from screen_tui.tui.screens.test import TestScreen

SIZES = [(60, 20), (80, 24), (120, 40)]


def hip_session():
    """Two tests of the left leg with signs that speak for one driver."""
    return small.session(
        {"test": "stance", "side": "left", "value": 6.2, "signs": ["pelvis-drops"]},
        {"test": "stance", "side": "right", "value": 30.0},
        {"test": "rises", "value": 16.0, "signs": ["unsteady"]},
        skipped=[{"test": "bend", "side": "right", "reason": "not safe today"}],
        intake={"side": "left", "goals": ["walking"]},
    )


async def at_result(driver) -> None:
    driver.app.controller.store.save(hip_session())
    driver.app.controller.resume("2026-03-02-0915-7f3a")
    driver.app.go_result()
    await driver.settle()


@pytest.mark.parametrize("size", SIZES)
async def test_the_verdict_stands_first_in_words_with_its_side(open_program, size) -> None:
    async with open_program(size) as driver:
        await at_result(driver)
        lines = driver.text().split("\n")
        assert lines[1].strip() == "LIKELY hip control, left"


@pytest.mark.parametrize("size", SIZES)
async def test_all_of_the_answer_can_be_read(open_program, size) -> None:
    async with open_program(size) as driver:
        await at_result(driver)
        page = await driver.read_on()
        for part in ("For Stance, left: pelvis drops", "Against", "on the left: Straightening"):
            assert part in page, page
        await driver.press("d")
        assert isinstance(driver.app.screen, DetailsScreen)
        text = await driver.read_on()
        for part in (
            "hip control, left: likely",
            "+ Stance, left: pelvis drops (strong) (clinical judgement)",
            "Rests on",
            "Meaning: what it means (clinical judgement)",
            "Would count against it: what counts against",
            "6.2 s, worse",
            "at least 10.0 s",
            "30.0 s, meets",
            "Not done, and why",
            "Straightening, right: not safe today",
            "Not a diagnosis.",
        ):
            assert " ".join(part.split()) in text


@pytest.mark.parametrize("size", SIZES)
async def test_all_of_the_plan_can_be_read_on_the_second_page(open_program, size) -> None:
    async with open_program(size) as driver:
        await at_result(driver)
        await driver.press("enter")
        assert isinstance(driver.app.screen, PlanScreen)
        text = await driver.read_on()
        for part in (
            "Start",
            "Leave out for now",
            "Precautions",
            "Retest",
            "Tests to repeat: Stance, left",
            "End a test at once for: - Chest pain. (clinical judgement)",
            "Not a diagnosis.",
        ):
            assert part in text


async def test_enter_leads_from_the_answer_over_the_plan_to_the_note_and_b_back(
    open_program,
) -> None:
    async with open_program() as driver:
        await at_result(driver)
        for key, page in (
            ("enter", PlanScreen),
            ("enter", NoteScreen),
            ("b", PlanScreen),
            ("b", ResultScreen),
            ("b", TestScreen),
        ):
            await driver.press(key)
            assert isinstance(driver.app.screen, page), key


async def test_details_note_and_sheet_are_a_key_away_from_the_answer(open_program) -> None:
    async with open_program() as driver:
        await at_result(driver)
        for key, page, back in (
            ("d", DetailsScreen, "b"),
            ("w", NoteScreen, ""),
            ("p", SheetScreen, ""),
        ):
            await driver.press(key)
            assert isinstance(driver.app.screen, page), key
            if back:
                await driver.press(back)
            else:
                driver.app.go_result()
                await driver.settle()
            assert isinstance(driver.app.screen, ResultScreen)


async def test_the_note_is_short_until_it_is_asked_for_in_full(open_program) -> None:
    async with open_program() as driver:
        await at_result(driver)
        await driver.press("w")
        assert "Appendix" not in driver.app.screen.text
        assert driver.app.screen.text.count("\n") <= MOST_LINES
        await driver.press("f")
        assert "Appendix" in driver.app.screen.text
        await driver.press("f")
        assert "Appendix" not in driver.app.screen.text


async def test_each_page_begins_at_its_top(open_program) -> None:
    async with open_program((60, 20)) as driver:
        await at_result(driver)
        await driver.press("space", "enter")
        assert "Start" in driver.text().split("\n")[1]
        await driver.press("space", "b")
        assert driver.text().split("\n")[1].strip() == "LIKELY hip control, left"


async def test_digits_start_no_test_on_the_plan(open_program) -> None:
    async with open_program() as driver:
        await at_result(driver)
        await driver.press("enter", "1")
        assert isinstance(driver.app.screen, PlanScreen)


async def test_a_suggested_test_is_started_with_its_digit(open_program) -> None:
    async with open_program() as driver:
        await at_result(driver)
        wanted = driver.app.screen.assessment.next_tests[0]
        await driver.press("1")
        assert isinstance(driver.app.screen, TestScreen)
        item = driver.app.screen.itinerary.item
        assert (item.test, item.side) == (wanted.test, wanted.side)
        assert driver.app.screen.trial.series.cue == wanted.cue


async def test_the_way_back_leads_to_the_tests(open_program) -> None:
    async with open_program() as driver:
        await at_result(driver)
        await driver.press("b")
        assert isinstance(driver.app.screen, TestScreen)


async def test_enter_leads_to_the_note_and_finishes(open_program, store: SessionStore) -> None:
    async with open_program() as driver:
        await at_result(driver)
        await driver.press("enter", "enter")
        assert isinstance(driver.app.screen, NoteScreen)
        assert "K-001, 65 years" in await driver.read_on()
        await driver.press("enter")
        assert "K-001 is finished and saved." in driver.text()
        assert store.load("2026-03-02-0915-7f3a").finished == driver.clock.wall()


async def test_the_written_note_is_the_note_of_a_finished_screen(
    open_program, store: SessionStore
) -> None:
    async with open_program() as driver:
        await at_result(driver)
        await driver.press("enter", "enter", "w", "1")
        path = store.folder / "notes" / "2026-03-02-0915-7f3a.txt"
        assert "".join(str(path).split()) in "".join(driver.text().split())
        assert path.read_text(encoding="utf-8") == driver.app.screen.text
        assert path.stat().st_mode & 0o777 == 0o600
        assert store.load("2026-03-02-0915-7f3a").finished is not None


async def test_another_test_opens_a_finished_screen_again(
    open_program, store: SessionStore
) -> None:
    async with open_program() as driver:
        await at_result(driver)
        await driver.press("enter", "enter", "w", "1", "b", "b", "1")
        await driver.type("3")
        await driver.press("enter")
        assert len(store.load("2026-03-02-0915-7f3a").trials) == 4
        assert store.load("2026-03-02-0915-7f3a").finished is None


async def test_the_note_goes_where_it_is_told_and_replaces_nobody_elses_file(
    open_program, tmp_path: Path
) -> None:
    taken = tmp_path / "taken.txt"
    taken.write_text("somebody else's", encoding="utf-8")
    async with open_program() as driver:
        await at_result(driver)
        await driver.press("enter", "enter", "w", "0")
        await driver.type(str(taken))
        await driver.press("enter")
        assert "is there already" in driver.words()
        assert driver.app.controller.session.finished is None, "nothing was written"
        await driver.press("w", "0")
        await driver.type(str(tmp_path / "mine.txt"))
        await driver.press("enter")
        assert driver.app.controller.session.finished is not None
        assert "not finished" not in driver.app.screen.text
        assert (tmp_path / "mine.txt").read_text(encoding="utf-8") == driver.app.screen.text
        await driver.press("b", "b", "b", "q")
        assert "is finished and saved." in driver.words()
        assert "can be resumed" not in driver.words()
    assert taken.read_text(encoding="utf-8") == "somebody else's"


async def test_the_sheet_for_the_patient_is_written_beside_the_note(open_program, store) -> None:
    protocol = load_protocol([protocols_folder()], DEFAULT_BATTERY)
    async with open_program(protocol=protocol, demo_folder=demo_folder()) as driver:
        path = demo_folder() / "runner-left-hip.toml"
        driver.app.controller.open_demo(path)
        driver.app.go_note()
        await driver.settle()
        await driver.press("p")
        assert "Your knee: what to do at home" in driver.text()
        await driver.press("w", "1")
        assert "Written to" in driver.words()
        await driver.press("b")
        assert isinstance(driver.app.screen, NoteScreen)
    sheet = store.folder / "notes" / "runner-left-hip-patient.txt"
    text = sheet.read_text(encoding="utf-8")
    assert "DEMO-02" not in text
    assert "stop" in text.lower()
    assert sheet.stat().st_mode & 0o077 == 0
