"""Set-up on the Test screen: noted with u, seen at once, recorded with the trials that follow."""

from __future__ import annotations

import pytest
from support.trial_hands import TrialHands

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.tests import SetUp, TestSpec
from screen_tui.session.model import Client, Intake
from screen_tui.session.store import SessionStore
from screen_tui.tui.drawing.rows import plain, row_cells
from screen_tui.tui.drawing.test import draw_test
from screen_tui.tui.screens.result import ResultScreen
from screen_tui.tui.screens.set_up import SetUpScreen
from screen_tui.tui.screens.test import TestScreen

PROTOCOL = load_protocol([protocols_folder()])
WITH_SET_UP = [spec for spec in PROTOCOL.tests if spec.set_up]
CHAIR, HALF_MINUTE = "five-chair-stands", "chair-stands-30s"


async def at(driver, test: str) -> None:
    """Begin a session, if none is open, and go to this test, over the list if need be."""
    if not driver.app.screen_stack[1:] or not isinstance(driver.app.screen, TestScreen):
        goals = ("walking", "chair", "floor", "stairs")
        driver.app.controller.begin(Client(label="K-014", age=67), Intake(side="left", goals=goals))
        driver.app.go_test()
        await driver.settle()
    for _ in range(30):
        if driver.app.screen.itinerary.item.test == test:
            return
        if test not in {item.test for item in driver.app.screen.itinerary.items}:
            await driver.press("j")
            listed = driver.app.screen
            place = next(n for n, (_, one) in enumerate(listed.picks) if one.test == test)
            await driver.press(listed.lines()[place].key)
        else:
            await driver.press("n")
    raise AssertionError(f"{test} was never offered")


async def rise(driver, times: int, *, hands: bool = False) -> None:
    """Do a chair test and keep it."""
    await driver.press("space", *["space"] * times)
    if hands:
        await driver.press(str(PROTOCOL.sign("hands-used").digit))
    await driver.press("enter")


def trials(driver):
    return driver.app.controller.session.trials


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_u_lists_the_set_up_and_what_is_only_usual(open_program, size) -> None:
    async with open_program(size, PROTOCOL) as driver:
        await at(driver, "timed-up-and-go")
        await driver.press("u")
        assert isinstance(driver.app.screen, SetUpScreen)
        text = driver.text()
        assert "Set-up" in text
        for label, value in (("Seat height", "46 cm"), ("Walking aid", "none")):
            (told,) = [one for one in text.split("\n") if label in one]
            assert f"{value}" in told
            assert "usual, not noted" in told
        assert "type 30 to 75 cm" in text
        assert "x  as usual" not in text
        await driver.press("down")
        for choice in ("1  [ ] none", "2  [ ] stick", "3  [ ] crutches", "4  [ ] frame"):
            assert choice in driver.text()
        assert all(len(one) <= size[0] for one in driver.text().split("\n"))


async def test_what_is_noted_is_seen_and_recorded_with_this_trial_and_the_later_ones(
    open_program, store: SessionStore
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "walk-4m")
        await driver.press("u", "4", "down", "2", "b")
        assert isinstance(driver.app.screen, TestScreen)
        assert "Set-up noted: frame, socks." in driver.words()
        await driver.press("space", "space", "enter", "space", "space", "enter")
        first, second = store.load(driver.app.controller.session.id).trials
        assert {(one.aid, one.footwear) for one in (first, second)} == {("frame", "socks")}
        await at(driver, "timed-up-and-go")
        assert "frame, socks" in driver.text()
        await at(driver, CHAIR)
        assert "socks" in driver.text()
        assert "frame" not in driver.text()


async def test_without_a_word_nothing_is_recorded(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "walk-4m")
        await driver.press("u", "down", "up", "b", "space", "space", "enter")
        (trial,) = trials(driver)
        assert (trial.aid, trial.footwear) == ("", "")


async def test_what_was_noted_before_any_trial_outlives_a_look_at_the_result(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, CHAIR)
        await driver.press("u", "5", "0", "b", "g")
        assert isinstance(driver.app.screen, ResultScreen)
        driver.app.go_test()
        await driver.settle()
        await at(driver, CHAIR)
        assert "seat 50 cm" in driver.text()


async def test_another_session_begins_with_nothing_noted(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, CHAIR)
        await driver.press("u", "5", "0", "b", "q")
        await at(driver, CHAIR)
        assert "seat 50 cm" not in driver.text()


async def test_a_resumed_session_goes_on_with_what_its_trials_noted(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "walk-4m")
        await driver.press("u", "2", "b", "space", "space", "enter")
        session_id = driver.app.controller.session.id
        await driver.press("q")
        driver.app.controller.resume(session_id)
        driver.app.go_test()
        await driver.settle()
        await at(driver, "timed-up-and-go")
        assert "stick" in driver.text()


async def test_a_running_trial_does_not_open_it_and_an_ended_one_keeps_all_it_holds(
    open_program,
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "walk-4m")
        await driver.press("space", "u")
        assert isinstance(driver.app.screen, TestScreen)
        assert "RUNNING" in driver.text()
        await driver.press("space", "1", "p", "3")
        before = driver.app.screen.trial.input
        await driver.press("u")
        assert isinstance(driver.app.screen, SetUpScreen)
        await driver.press("2", "b")
        assert driver.app.screen.trial.input == before
        await driver.press("enter")
        (trial,) = trials(driver)
        assert (trial.aid, trial.pain, len(trial.signs)) == ("stick", 3, 1)
        assert trial.value == pytest.approx(4.0)


async def test_a_number_that_cannot_be_is_refused_in_a_sentence(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, CHAIR)
        await driver.press("u", "9", "0", "b")
        assert isinstance(driver.app.screen, SetUpScreen)
        assert "Seat height: 90 cannot be; type 30 to 75 cm." in driver.words()
        await driver.press("backspace", "backspace", "5", "0", "backspace", "2", "b")
        assert "seat 52 cm" in driver.text()


@pytest.mark.parametrize(("before", "leaving"), [((), "b"), (("space", "space"), "backspace")])
async def test_a_key_that_is_held_down_leaves_the_page_and_does_no_more(
    open_program, before: tuple[str, ...], leaving: str
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "walk-4m")
        test = driver.app.screen
        await driver.press(*before, "u")
        item, made = test.itinerary.item, test.trial.input
        driver.pass_time(5)
        pressed = driver.clock.monotonic()
        for stamp in (pressed, *(pressed + 0.5 + 0.033 * n for n in range(40))):
            await driver.press_at(leaving, stamp)
        await driver.wait(2.5)
        assert driver.app.screen is test
        assert (test.itinerary.item, test.trial.input) == (item, made)


async def test_u_held_down_opens_the_page_once(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "walk-4m")
        driver.pass_time(5)
        pressed = driver.clock.monotonic()
        for stamp in (pressed, *(pressed + 0.5 + 0.033 * n for n in range(40))):
            await driver.press_at("u", stamp)
        pages = [page for page in driver.app.screen_stack if isinstance(page, SetUpScreen)]
        assert len(pages) == 1


async def test_hands_in_a_chair_test_lead_to_a_higher_seat(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, CHAIR)
        await rise(driver, 5, hands=True)
        assert driver.app.screen.itinerary.item.test == CHAIR
        assert "Hands used: offer it from a higher seat; u notes the seat." in driver.words()
        await driver.press("u", "5", "0", "b")
        assert "seat 50 cm" in driver.text()
        await rise(driver, 5)
        first, second = trials(driver)
        assert (first.seat_cm, second.seat_cm) == (None, 50)
        assert "higher seat" not in driver.words()
        assert driver.app.screen.itinerary.item.test != CHAIR


async def test_enter_goes_on_from_a_chair_test_with_hands(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, CHAIR)
        await rise(driver, 5, hands=True)
        await driver.press("enter")
        assert driver.app.screen.itinerary.item.test != CHAIR


async def test_a_test_without_set_up_says_so(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "knee-extension")
        assert " u " not in driver.text()
        await driver.press("u")
        assert "Nothing about the set-up of this test is recorded." in driver.words()


async def test_help_names_the_key(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, CHAIR)
        await driver.press("?")
        assert "u the set-up" in await driver.read_on()


async def test_a_click_goes_to_an_item_and_chooses(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "walk-4m")
        await driver.press("u")
        driver.app.screen.take_press("item 1", driver.clock.monotonic())
        await driver.settle()
        assert "> Footwear" in driver.text()
        driver.app.screen.take_press("2", driver.clock.monotonic())
        await driver.settle()
        assert "2  [x] socks" in driver.text()


def longest(item: SetUp) -> float | str:
    """What takes most room to tell of a thing about the set-up."""
    if item.choices:
        return max(item.choices, key=len)
    assert item.maximum is not None
    return item.maximum - 0.5


@pytest.mark.parametrize("cue", [False, True])
@pytest.mark.parametrize("spec", WITH_SET_UP, ids=lambda spec: spec.id)
def test_the_noted_set_up_cuts_off_nothing_in_the_smallest_window(
    spec: TestSpec, cue: bool
) -> None:
    side = "left" if spec.sided else None
    noted = {item.id: longest(item) for item in spec.set_up}
    cued = spec.cues[0].id if cue and spec.cues else ""
    bare = TrialHands.at(spec, side, PROTOCOL.signs, cue=cued)
    now = 100.0
    for key in ("", "1", "space", "enter", "e", "p", "3", "x"):
        if key:
            now += 3
            bare = bare.key(key, key if len(key) == 1 else None, now, now)
        full = bare.with_set_up(noted)
        told = full.view(now).set_up
        drawn = [plain([line]) for line in draw_test(full.view(now), 58, 16)]
        without = [plain([line]) for line in draw_test(bare.view(now), 58, 16)]
        assert len(drawn) == len(without)
        assert all(row_cells(line) <= 58 for line in draw_test(full.view(now), 58, 16))
        if bare.view(now).before is None:
            # What is read before the start is a page longer where a row is needed for it, and what
            # was said as a cue gives way to it.
            pairs = zip(without, drawn, strict=True)
            assert all(old.partition("cue: ")[0].strip(" ·") in new for old, new in pairs)
        if key in ("", "1", "space") and spec.timer.kind != "measure":
            assert told in "\n".join(drawn), (key, drawn)


@pytest.mark.parametrize("key", ["enter", "b", "backspace"])
async def test_a_retest_asks_once_whether_the_set_up_is_that_of_last_time(
    open_program, key: str
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, CHAIR)
        await driver.press("u", "5", "0", "b")
        await rise(driver, 6)
        controller = driver.app.controller
        await driver.press("enter")
        earlier = controller.session
        assert earlier.trials[0].seat_cm == 50
        controller.finish()
        controller.begin(earlier.client, earlier.intake, earlier)
        driver.app.go_test()
        await driver.settle()
        while not isinstance(driver.app.screen, SetUpScreen):
            await driver.press("n")
        assert "As at the last visit." in driver.words()
        assert "Seat height 50 cm" in driver.words()
        await driver.press(key)
        taken = key == "enter"
        assert ("Set-up noted: seat 50 cm." in driver.words()) is taken
        assert driver.app.controller.session.set_up_said == ({"seat_cm": 50} if taken else {})
        first = driver.app.screen.itinerary.item
        await at(driver, CHAIR)
        assert ("Noted: seat 50 cm" in driver.words()) is taken
        await driver.press("b", "n")
        assert isinstance(driver.app.screen, TestScreen), first


async def test_what_was_noted_before_any_trial_outlives_a_program_that_died(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, CHAIR)
        await driver.press("u", "5", "0", "b")
        assert "Set-up noted: seat 50 cm." in driver.words()
        controller = driver.app.controller
        session_id = controller.session.id
        assert controller.store.load(session_id).set_up_said == {"seat_cm": 50}
        controller.store.release_all()  # as the system does when a program dies
    async with open_program(protocol=PROTOCOL) as driver:
        driver.app.controller.resume(session_id)
        driver.app.go_test()
        await driver.settle()
        await at(driver, CHAIR)
        assert "seat 50 cm" in driver.text()


async def test_a_note_taken_back_stays_taken_back_when_the_session_is_resumed(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await at(driver, "walk-4m")
        await driver.press("u", "2", "b", "space", "space", "enter", "u", "x", "b")
        session_id = driver.app.controller.session.id
        assert driver.app.controller.session.trials[-1].aid == "stick"
        driver.app.controller.store.release_all()
    async with open_program(protocol=PROTOCOL) as driver:
        driver.app.controller.resume(session_id)
        driver.app.go_test()
        await driver.settle()
        await at(driver, "timed-up-and-go")
        assert "stick" not in driver.text()
