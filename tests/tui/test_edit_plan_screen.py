"""The plan edited on the screen: each change is saved at once."""

from __future__ import annotations

import pytest
from support.every_session import judged

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol
from screen_tui.tui.screens.edit_plan import EditPlanScreen
from screen_tui.tui.screens.note import NoteScreen
from screen_tui.tui.screens.result import PlanScreen

_, SESSION, PLAIN = judged("thigh-right-after-knee-replacement")


async def at_edit(driver, store) -> str:
    mine = SESSION.model_copy(update={"synthetic": False, "finished": None})
    store.save(mine)
    driver.app.controller.resume(mine.id)
    driver.app.go_plan()
    await driver.settle()
    await driver.press("e")
    assert isinstance(driver.app.screen, EditPlanScreen)
    return mine.id


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_an_exercise_is_dropped_moved_and_given_another_dose(
    open_program, store, size
) -> None:
    protocol = load_protocol([protocols_folder()], DEFAULT_BATTERY)
    first, second, third, _ = (one.exercise for one in PLAIN.plan.start)
    dose = PLAIN.plan.start[2].dose
    async with open_program(size, protocol=protocol) as driver:
        session_id = await at_edit(driver, store)
        await driver.press("down", "enter")
        assert store.load(session_id).plan.drop == (second,)
        assert "[ ] " in driver.text()
        await driver.press("enter")
        assert store.load(session_id).plan.drop == ()
        await driver.press("down", "u", "u")
        assert store.load(session_id).plan.order[:3] == (third, first, second)
        await driver.press("d")
        assert driver.app.screen.field.value == dose, "the present dose is there to be changed"
        await driver.fill("5 a day")
        await driver.press("enter")
        assert store.load(session_id).plan.doses == {third: "5 a day"}
        assert "5 a day" in driver.words()
        await driver.press("d")
        await driver.fill("")
        await driver.press("enter")
        assert store.load(session_id).plan.doses == {}
        assert dose[:12] in driver.words(), "the suggested dose is there again"


async def test_own_lines_come_and_go_and_the_next_visit_is_in_the_note(open_program, store) -> None:
    protocol = load_protocol([protocols_folder()], DEFAULT_BATTERY)
    async with open_program(protocol=protocol) as driver:
        session_id = await at_edit(driver, store)
        await driver.press("o")
        await driver.type("Cycle 10 min")
        await driver.press("enter", "v")
        await driver.type("25 March")
        await driver.press("enter", "b")
        assert isinstance(driver.app.screen, PlanScreen)
        assert "Cycle 10 min" in await driver.read_on()
        await driver.press("enter")
        assert isinstance(driver.app.screen, NoteScreen)
        assert "Next visit: 25 March" in driver.app.screen.text
        await driver.press("b", "e", "v")
        await driver.fill("")
        await driver.press("enter")
        assert store.load(session_id).plan.next_visit == ""
        # An own line is edited, and taken away by making it empty.
        await driver.press("up", "up", "enter")
        await driver.type(" a day")
        await driver.press("enter")
        assert store.load(session_id).plan.own == ("Cycle 10 min a day",)
        await driver.press("enter", "backspace")
        await driver.fill("")
        await driver.press("backspace")
        assert store.load(session_id).plan.own == ("Cycle 10 min a day",), "left, not emptied"
        await driver.press("enter")
        await driver.fill("")
        await driver.press("enter")
        assert store.load(session_id).plan.own == ()


async def test_a_demo_and_a_stopped_session_have_no_plan_to_edit(open_program, store) -> None:
    protocol = load_protocol([protocols_folder()], DEFAULT_BATTERY)
    async with open_program(protocol=protocol) as driver:
        stopped = SESSION.model_copy(
            update={"synthetic": False, "finished": None, "stopped": "tired"}
        )
        store.save(stopped)
        driver.app.controller.resume(stopped.id)
        driver.app.go_plan()
        await driver.settle()
        await driver.press("e")
        assert isinstance(driver.app.screen, PlanScreen)
