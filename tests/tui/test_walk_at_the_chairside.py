"""What a therapist must see, or must not be able to do by mistake, while testing."""

from __future__ import annotations

import pytest
from support.trial_hands import TrialHands
from test_result_and_note_screens import at_result
from test_trial_screen import at_stance

from screen_tui.engine.assess import assess
from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.report.answer import details_document
from screen_tui.session.file import load_session
from screen_tui.session.model import Client, Intake, Trial
from screen_tui.tui.drawing.document import draw_document
from screen_tui.tui.drawing.rows import plain
from screen_tui.tui.drawing.test import draw_test

PROTOCOL = load_protocol([protocols_folder()])
# 24 rows of 80 less the head and a row of keys.


def bar(driver) -> str:
    """The two rows that tell the keys."""
    return " ".join("\n".join(driver.text().split("\n")[-2:]).split())


def test_the_one_test_all_rests_on_is_named_once() -> None:
    session = load_session(demo_folder() / "runner-left-hip.toml")
    document = details_document(PROTOCOL, session, assess(PROTOCOL, session))
    text = plain(draw_document(PROTOCOL, document, 58))
    assert "\nRests on: Step-down, quality of movement\n" in text


async def test_a_screen_that_was_stopped_says_so_before_anything_else(open_program) -> None:
    async with open_program((60, 20)) as driver:
        await at_result(driver)
        controller = driver.app.controller
        why = "Chest pain, faintness or dizziness."
        controller.change(controller.session.model_copy(update={"stopped": why}))
        driver.app.go_result()
        await driver.settle()
        lines = [line.strip() for line in driver.text().split("\n")]
        assert lines[1] == "TESTING STOPPED Chest pain, faintness or dizziness."


async def test_the_smallest_bar_keeps_the_ways_on_before_a_trial(open_program) -> None:
    async with open_program((60, 20)) as driver:
        await at_stance(driver)
        for told in (
            "Space start",
            "n next test",
            "v other leg",
            "b back",
            "s skip",
            "? help",
            "! stop testing",
            "k more",
        ):
            assert told in bar(driver)
        await driver.press("k")
        for told in ("q leave", "j all tests", "l trials", "g answer"):
            assert told in driver.words()


@pytest.mark.parametrize(("key", "shows"), [("j", "All tests"), ("s", "why is it not done?")])
async def test_a_letter_in_the_list_of_keys_does_what_it_names(
    open_program, key: str, shows: str
) -> None:
    async with open_program((60, 20)) as driver:
        await at_stance(driver)
        await driver.press("k", key)
        assert shows in driver.words()


async def test_the_smallest_bar_tells_what_an_ended_trial_needs(open_program) -> None:
    async with open_program((60, 20)) as driver:
        await at_stance(driver)
        await driver.press("space", "space")
        for told in ("Enter save", "Bksp undo", "x void", "p pain", "! stop testing"):
            assert told in bar(driver)


async def test_the_smallest_bar_asks_for_the_leg_of_a_sign_and_whether_it_was_clean(
    open_program,
) -> None:
    async with open_program((60, 20), protocol=PROTOCOL) as driver:
        driver.app.controller.begin(
            Client(label="K-014", age=67, sex="female"), Intake(side="left", goals=("stairs",))
        )
        await at(driver, "chair-stands-30s")
        await driver.press("space", "1")
        for told in ("signs", "Bksp undo", "←→ leg", "! stop testing"):
            assert told in bar(driver)
        await driver.press("backspace", "backspace", "x", "1")
        await at(driver, "step-down")
        await driver.press("space")
        for told in (
            "Space count",
            "1-9 signs",
            "Enter save",
            "p pain",
            "0 watched, clean",
            "! stop testing",
        ):
            assert told in bar(driver)
        await driver.press("0")
        assert "watched, clean" in driver.text()


async def test_what_was_stopped_early_asks_for_its_reason_by_the_key_that_gives_it(
    open_program,
) -> None:
    async with open_program((60, 20)) as driver:
        await at_stance(driver)
        rises = next(item for item in driver.app.screen.itinerary.items if item.test == "rises")
        driver.app.screen.take_up(rises)
        await driver.press("space", "enter")
        assert "Stopped early: why?" in driver.words()
        assert "1 pain" in driver.words()
        assert bar(driver).startswith("1-7 reason Bksp not now")
        await driver.press("backspace")
        assert bar(driver).startswith("e why ended")
        assert "Enter save" not in bar(driver)
        await driver.press("e", "1")
        assert "ended: pain" in driver.text()
        assert bar(driver).startswith("Enter save")


async def test_space_after_a_full_series_says_that_it_adds_a_trial(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        assert "Space start" in bar(driver)
        await driver.press("space", "space", "enter", "space", "space", "enter", "b")
        assert "Space one more trial" in bar(driver)
        assert "Space start" not in bar(driver)


async def test_a_key_that_is_held_goes_to_the_next_test_once(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        driver.pass_time(5)
        pressed = driver.clock.monotonic()
        for stamp in (pressed, *(pressed + 0.5 + 0.033 * n for n in range(40))):
            await driver.press_at("n", stamp)
        await driver.wait(2.5)
        items = driver.app.screen.itinerary.items
        assert items.index(driver.app.screen.itinerary.item) == 3


async def test_a_way_that_waits_at_its_gate_is_gone_before_the_next_key_acts(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        driver.pass_time(5)
        t = driver.clock.monotonic()
        await driver.press_at("n", t)
        await driver.press_at("n", t + 0.3)
        await driver.press_at("space", t + 0.35)
        assert driver.app.screen.itinerary.item == driver.app.screen.itinerary.items[4]
        assert "RUNNING" in driver.text()


def begin(driver) -> None:
    """Begin a screen of the shipped protocol; the left knee hurts in walking."""
    driver.app.controller.begin(
        Client(label="K-014", age=67, sex="female"), Intake(side="left", goals=("walking",))
    )


async def at(driver, test: str) -> None:
    """Go to the first item of a test."""
    driver.app.go_test()
    await driver.settle()
    items = driver.app.screen.itinerary.items
    driver.app.screen.take_up(next(one for one in items if one.test == test))
    await driver.settle()


async def at_withheld(driver, test: str = "single-leg-stance") -> None:
    """Go to a test after a tandem stance so short that the one-leg stance is held back."""
    begin(driver)
    for seconds in (3.0, 4.0):
        trial = Trial(
            test="tandem-stance", value=seconds, raw_value=seconds, ended="support-touched"
        )
        driver.app.controller.add_trial(trial)
    await at(driver, test)


async def test_a_withheld_test_starts_on_a_second_space_only(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at_withheld(driver)
        assert "Not offered: Tandem stance was short" in driver.words()
        assert "Space start all the same" in bar(driver)
        await driver.press("space")
        assert "READY" in driver.text()
        assert "Space again starts it all the same" in driver.words()
        await driver.press("space")
        assert "RUNNING" in driver.text()


async def test_a_space_that_is_held_does_not_start_a_withheld_test(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at_withheld(driver)
        driver.pass_time(5)
        pressed = driver.clock.monotonic()
        for stamp in (pressed, *(pressed + 0.5 + 0.033 * n for n in range(40))):
            await driver.press_at("space", stamp)
        await driver.wait(2.5)
        assert "READY" in driver.text()


async def test_tests_that_are_passed_over_are_named_with_the_reason(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at_withheld(driver, "tandem-stance")
        await driver.press("n")
        assert "Not offered: Single-leg stance, right; Single-leg stance, left." in driver.words()
        assert "not safe yet" in driver.words()


async def test_a_skip_for_safety_withholds_what_is_harder(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        begin(driver)
        await at(driver, "tandem-stance")
        await driver.press("s", "1")
        told = driver.words()
        assert "Not offered: Single-leg stance, right; Single-leg stance, left." in told
        assert "Tandem stance, which comes before it, was left out: not safe today." in told


async def test_a_skip_is_confirmed_on_the_next_test(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("s", "1")
        assert "Skipped: Stance, right, not safe today." in driver.words()


async def test_hands_used_is_shown_when_the_count_becomes_nought(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        begin(driver)
        await at(driver, "chair-stands-30s")
        hands = str(PROTOCOL.sign("hands-used").digit)
        await driver.press("space", "space", hands)
        await driver.wait(40)
        await driver.wait(1)
        await driver.press("n", "enter")
        assert "0 stands, hands used, so 0 by the published rule" in driver.words()


@pytest.mark.parametrize("size", [(58, 16), (78, 20), (118, 36)])
def test_a_sign_that_was_seen_is_set_off_without_any_colour(size: tuple[int, int]) -> None:
    spec = PROTOCOL.test("single-leg-stance")
    state = TrialHands.at(spec, "left", PROTOCOL.signs).key("1", "1", 10.0, 10.0)
    rows = draw_test(state.view(10.1), *size)
    text = plain(rows)
    assert "1 PELVIC DROP" in text
    assert "2 Trunk lean" in text
    (roles,) = {span.role for line in rows for span in line if span.text.startswith("PELVIC")}
    assert roles == "cursor"  # drawn in reverse


@pytest.mark.parametrize("typed", ["5", "-5", "12"])
def test_the_number_that_is_typed_is_the_biggest_thing(typed: str) -> None:
    state = TrialHands.at(PROTOCOL.test("knee-extension"), "left", PROTOCOL.signs)
    for n, character in enumerate(typed):
        state = state.key(character, character, 10.0 + n, 10.0 + n)
    view = state.view(20.0)
    assert view.big == typed
    assert sum("█" in plain([line]) for line in draw_test(view, 58, 16)) >= 5
