"""The answers before testing, changed from any page of a session with nothing lost."""

from __future__ import annotations

import pytest
from support.form_keys import LEFT_AND_SAFE, SHIPPED_NOT_ASKED

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.store import SessionStore
from screen_tui.tui.screens.before_testing import AnswersScreen, ReferFirstScreen
from screen_tui.tui.screens.edit_plan import EditPlanScreen
from screen_tui.tui.screens.note import NoteScreen, SheetScreen
from screen_tui.tui.screens.result import DetailsScreen, PlanScreen, ResultScreen
from screen_tui.tui.screens.test import TestScreen

SHIPPED = load_protocol([protocols_folder()])


async def to_the_fourth_test(driver) -> None:
    """Both knees, walking: three tests are skipped with a reason."""
    await driver.press("n", "3", *LEFT_AND_SAFE[1:], "1", "enter", "1", "enter", "1", "enter")
    await driver.press(*SHIPPED_NOT_ASKED, *"K-014", "enter", *"67", "enter", "f", "enter")
    await driver.type("3")
    await driver.press("enter", "5", "enter", "enter", "n", "s", "1", "s", "1")
    assert isinstance(driver.app.screen, TestScreen)


async def open_at(driver, question: str) -> AnswersScreen:
    """Open the answers, and go to a question."""
    await driver.press("a")
    page = driver.app.screen
    assert isinstance(page, AnswersScreen)
    while page.form.at != question:
        await driver.press("down")
        assert page.form.at != "note" or question == "note"
    return page


async def change(driver, question: str, *keys: str) -> None:
    """Open the answers, go to a question, change it, and go back."""
    page = await open_at(driver, question)
    await driver.press(*keys, "up" if page.typing_now else "enter")
    while driver.app.screen is page and page.form.at.startswith("doubt:"):
        await driver.press("y", "enter")
    if driver.app.screen is page:
        await driver.press("q")
    assert driver.app.screen is not page, driver.text()


CHANGES = {
    "side": (["r"], lambda s: s.intake.side == "right"),
    "weight_bearing": (["2", "n"], lambda s: s.intake.weight_bearing == "as-tolerated"),
    "recent_surgery_weeks": (["9", "enter", "q", "2"], lambda s: s.intake.surgery == "ligament"),
    "complaints": (["2"], lambda s: s.intake.complaints == ("pain", "giving-way")),
    "goals": (["4"], lambda s: s.intake.goals == ("walking", "stairs")),
    "pain_now": (["t"], lambda s: s.intake.pain_now == 10),
    "pain_worst": (["7"], lambda s: s.intake.pain_worst == 7),
    "alone_at_home": (["y"], lambda s: s.intake.alone_at_home is True),
    "label": (["end", "ctrl+u", *"K-9"], lambda s: s.client.label == "K-9"),
    "age": (["backspace", "8"], lambda s: s.client.age == 68),
    "sex": (["m"], lambda s: s.client.sex == "male"),
    "height_cm": ([*"5 10"], lambda s: s.client.height_cm == 177.8),
    "mass_kg": ([*"160lb"], lambda s: s.client.mass_kg == 72.6),
    "note": ([*"tired"], lambda s: s.intake.note == "tired"),
    **{
        one.id: (
            [one.answers[-1].key],
            lambda s, one=one: s.intake.history[one.id] == (one.answers[-1].id,),
        )
        for one in SHIPPED.history
    },
}


async def test_every_answer_is_changed_after_the_third_test_and_nothing_is_lost(
    open_program, store: SessionStore
) -> None:
    async with open_program(protocol=SHIPPED, size=(80, 24)) as driver:
        await to_the_fourth_test(driver)
        before = driver.app.controller.session
        assert len(before.trials) + len(before.skipped) >= 3
        for question, (keys, holds) in CHANGES.items():
            if question == "recent_surgery_weeks":
                await change_two(driver, keys[:2], keys[3:])
            else:
                await change(driver, question, *keys)
            session = driver.app.controller.session
            assert holds(session), (question, session.intake)
            assert (session.trials, session.skipped) == (before.trials, before.skipped)
            assert session.intake.safety_asked == tuple(one.id for one in SHIPPED.cautions)
            assert isinstance(driver.app.screen, TestScreen)
            assert store.load(session.id) == session


async def change_two(driver, keys: list[str], last: list[str]) -> None:
    """Weeks since surgery, and what they ask for: its kind."""
    page = await open_at(driver, "recent_surgery_weeks")
    await driver.press(keys[0], "down", "q")
    assert driver.app.screen is page, "the kind of surgery is needed"
    assert "still needed" in driver.words()
    assert page.form.at == "surgery"
    await driver.press(*last, "q")


async def test_a_yes_that_arises_later_refers_first_and_loses_nothing(
    open_program, store: SessionStore
) -> None:
    async with open_program(protocol=SHIPPED, size=(80, 24)) as driver:
        await to_the_fourth_test(driver)
        before = driver.app.controller.session
        for caution in (one.id for one in SHIPPED.cautions):
            await open_at(driver, caution)
            await driver.press("y")
            assert isinstance(driver.app.screen, ReferFirstScreen)
            assert store.load(before.id).intake.cautions == (caution,), "it is saved at once"
            await driver.press("enter")
            assert isinstance(driver.app.screen, ResultScreen)
            assert not driver.app.controller.tests_possible
            session = driver.app.controller.session
            assert (session.trials, session.skipped) == (before.trials, before.skipped)
            await open_at(driver, caution)
            await driver.press("n", "enter")
            assert isinstance(driver.app.screen, ResultScreen)
            assert driver.app.controller.tests_possible, "what was not meant is taken back"


async def test_tests_follow_from_the_changed_answers_at_once(open_program) -> None:
    async with open_program(protocol=SHIPPED, size=(80, 24)) as driver:
        await to_the_fourth_test(driver)
        at = driver.app.screen.itinerary.item
        await change(driver, "goals", "4")
        page = driver.app.screen
        assert page.itinerary.item == at, "it is back at the same test"
        assert "stair-steps" in {item.test for item in page.itinerary.allowed}
        await change(driver, "weight_bearing", "5")
        loads = {SHIPPED.test(one.test).load for one in driver.app.screen.itinerary.allowed}
        assert loads == {"unloaded"}
        assert "Answers changed" in driver.words()


async def test_a_digit_that_changes_nothing_says_why(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("a", "2", "2")
        assert "2: this is the answer already." in driver.words()
        await driver.press("9")
        assert "9: 1-3 answers this." in driver.words()
        await driver.press("down", "1")
        assert "1: y or n answers this." in driver.words()


async def test_the_letters_that_close_the_page_may_be_answers(open_program) -> None:
    onset = next(one for one in SHIPPED.history if not one.several)
    first, *others = onset.answers
    lettered = onset.model_copy(
        update={"answers": (first.model_copy(update={"key": "a"}), *others)}
    )
    history = tuple(lettered if one is onset else one for one in SHIPPED.history)
    protocol = SHIPPED.model_copy(update={"history": history})
    async with open_program(protocol=protocol, size=(80, 24)) as driver:
        await to_the_fourth_test(driver)
        page = await open_at(driver, onset.id)
        await driver.press("a")
        assert page.form.answers[onset.id] == first.id
        await driver.press("b")
        assert driver.app.screen is not page


async def test_what_was_asked_for_stays_when_an_answer_is_changed_and_changed_back(
    open_program,
) -> None:
    async with open_program(protocol=SHIPPED, size=(80, 24)) as driver:
        await to_the_fourth_test(driver)
        tests = driver.app.screen.itinerary
        waiting = next(one.item for one in tests.states if one.state == "on-request")
        driver.app.screen.take_up(waiting)
        await driver.press("n")
        offered = driver.app.screen.itinerary.items
        assert set(offered) > set(tests.items)
        await change(driver, "weight_bearing", "5")
        await change(driver, "weight_bearing", "1")
        assert driver.app.screen.itinerary.items == offered


@pytest.mark.parametrize(
    ("keys", "page"),
    [
        ("g", ResultScreen),
        ("g d", DetailsScreen),
        ("g enter", PlanScreen),
        ("g enter e", EditPlanScreen),
        ("g w", NoteScreen),
        ("g p", SheetScreen),
    ],
)
async def test_each_page_of_a_session_leads_to_the_answers_and_back(
    open_program, answered, keys: str, page: type
) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press(*keys.split())
        assert isinstance(driver.app.screen, page)
        await driver.press("a", "q")
        assert isinstance(driver.app.screen, page)
        await driver.press("a", "2", "enter")
        assert isinstance(driver.app.screen, page)
        assert driver.app.controller.session.intake.side == "right"


async def test_not_while_a_clock_runs_nor_in_a_field_nor_of_what_is_only_shown(
    open_program, answered, store: SessionStore
) -> None:
    async with open_program() as driver:
        await driver.press("a")
        assert not isinstance(driver.app.screen, AnswersScreen)
        await answered(driver)
        await driver.press("n", "n", "space")
        await driver.press("a")
        assert isinstance(driver.app.screen, TestScreen)
        await driver.press("space", "a")
        assert "Not saved yet" in driver.text()
        await driver.press("b", "enter", "m", "a")
        assert not isinstance(driver.app.screen, AnswersScreen)
        await driver.press("enter", "g", "enter", "enter", "enter")
        assert store.list()[0].finished is not None
        await driver.press("v", "enter", "a")
        assert not isinstance(driver.app.screen, AnswersScreen)


async def test_a_retest_under_another_code_is_nobodys_retest(open_program, store) -> None:
    from support import small_protocol as small

    earlier = small.session(
        {"test": "rises", "value": 9.0},
        finished=small.STARTED,
        client={"label": "K-7"},
        intake={"goals": ["walking"], "side": "left"},
    )
    store.save(earlier)
    async with open_program() as driver:
        await driver.press("v", "enter", "r", "n", "enter", "enter", "enter")
        assert driver.app.controller.session.follows == earlier.id
        await change(driver, "label", "backspace", "9")
        assert driver.app.controller.session.client.label == "K-9"
        assert driver.app.controller.session.follows == ""
        assert driver.app.controller.earlier is None
        await change(driver, "label", "backspace", "7")
        assert driver.app.controller.session.follows == earlier.id
