"""Test: times come from the key events, and what is done is kept."""

from __future__ import annotations

import pytest

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.model import Client, Intake
from screen_tui.session.store import SessionStore
from screen_tui.tui.screens.result import ResultScreen
from screen_tui.tui.screens.test import TestScreen

SHIPPED = load_protocol([protocols_folder()])


async def at_stance(driver) -> None:
    """Begin a session, and go to the stance of the right leg, past both knees straightened."""
    driver.app.controller.begin(
        Client(label="K-014", age=67, sex="female"), Intake(side="left", goals=("walking",))
    )
    driver.app.go_test()
    await driver.settle()
    await driver.press("n", "n")
    assert driver.app.screen.itinerary.item.test == "stance"


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_all_that_matters_is_in_sight(open_program, size) -> None:
    async with open_program(size) as driver:
        await at_stance(driver)
        text = driver.text()
        for part in (
            "READY",
            "Stance on one leg",
            "RIGHT LEG >>",
            "up to 45 s",
            "trial 1 of 2",
            "1 Pelvis drops",
            "6 Unsteady",
            "Say: Go.",
            "Chair against the wall.",
            "Stand close.",
            "The foot touches down",
            "Space  start",
            "n  next test",
            "!  stop testing",
        ):
            assert part in text
        await driver.press("space")
        text = driver.text()
        assert sum("██" in line for line in text.split("\n")) >= 7
        for prose in ("Say", "Chair against the wall.", "Stand close.", "The foot touches down"):
            assert prose not in text
        for part in (">> RUNNING <<", "RIGHT LEG >>", "trial 1 of 2", "1 Pelvis drops"):
            assert part in text


async def test_the_leg_is_on_its_own_side(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        right = next(line for line in driver.text().split("\n") if "RIGHT LEG" in line)
        assert right.index("RIGHT LEG") > 29
        await driver.press("v")
        left = next(line for line in driver.text().split("\n") if "LEFT LEG" in line)
        assert left.index("LEFT LEG") < 29


async def test_a_stop_keeps_the_time_of_the_key_when_its_handler_is_300_ms_late(
    open_program, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        on_key = TestScreen.on_key

        def late(page: TestScreen, event) -> None:
            driver.clock.advance(0.3)
            on_key(page, event)

        start = driver.clock.monotonic() + 5
        driver.pass_time(5)
        await driver.press_at("space", start)
        driver.pass_time(27.4)
        monkeypatch.setattr(TestScreen, "on_key", late)
        await driver.press_at("space", start + 27.4)
        assert driver.clock.monotonic() == pytest.approx(start + 27.7)
        monkeypatch.setattr(TestScreen, "on_key", on_key)
        await driver.press("enter")
        (trial,) = driver.app.controller.session.trials
        assert trial.raw_value == pytest.approx(27.4, abs=1e-9)
        assert trial.value == 27.4


async def test_two_queued_presses_keep_their_own_times(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        start = driver.clock.monotonic() + 5
        driver.pass_time(20)
        driver.post("space", start)
        driver.post("space", start + 4.25)
        await driver.settle()
        await driver.press("enter")
        (trial,) = driver.app.controller.session.trials
        assert trial.raw_value == pytest.approx(4.25, abs=1e-9)


async def test_a_held_key_counts_once(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        start = driver.clock.monotonic() + 5
        driver.pass_time(8)
        # A key held for three seconds: 0.5 s, then every 33 ms.
        for stamp in (start, *(start + 0.5 + 0.033 * n for n in range(75))):
            driver.post("space", stamp)
        await driver.settle()
        await driver.wait(0.2)
        assert "RUNNING" in driver.text()


async def test_a_saved_trial_is_on_disk_at_once_and_shown(
    open_program, store: SessionStore
) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("space", "space", "1", "enter")
        session_id = driver.app.controller.session.id
        (trial,) = store.load(session_id).trials
        assert trial.value == 2.0
        assert trial.signs == ("pelvis-drops",)
        assert trial.recorded == driver.clock.wall()
        assert "Saved: Stance, right, 2.0 s, pelvis drops." in driver.text()
        assert "trial 2 of 2" in driver.text()


async def test_the_enter_that_completes_a_series_goes_on_and_says_what_was_saved(
    open_program,
) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("space", "space", "enter")
        assert driver.app.screen.itinerary.item.side == "right"
        await driver.press("space", "space", "enter")
        assert driver.app.screen.itinerary.item.side == "left"
        assert "Saved: Stance, right, 2.0 s." in driver.text()


async def test_an_enter_that_is_held_goes_on_once(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("space", "space", "enter", "space", "space")
        driver.pass_time(2)
        pressed = driver.clock.monotonic()
        await driver.press_at("enter", pressed)
        for n in range(20):
            await driver.press_at("enter", pressed + 0.5 + 0.033 * n)
        assert driver.app.screen.itinerary.item == driver.app.screen.itinerary.items[3]
        assert len(driver.app.controller.session.trials) == 2


async def test_enter_goes_on_from_a_test_that_is_done_already(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("space", "space", "enter", "space", "space", "enter", "b")
        assert driver.app.screen.itinerary.item.side == "right"
        assert "Enter  next test" in driver.text()
        await driver.press("enter")
        assert driver.app.screen.itinerary.item.side == "left"


async def test_other_tests_cannot_be_reached_while_the_clock_runs(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("space")
        assert "n  next test" not in driver.text()
        await driver.press("n", "g", "q", "?", "v", "s", "c")
        assert isinstance(driver.app.screen, TestScreen)
        assert driver.app.screen.itinerary.item.side == "right"
        assert "RUNNING" in driver.text()


async def test_leaving_an_ended_trial_asks_and_keeps_it(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("space", "space", "n")
        assert "Not saved yet" in driver.text()
        await driver.press("b")
        assert "STOPPED" in driver.text()
        assert driver.app.controller.session.trials == ()
        await driver.press("n", "1")
        (trial,) = driver.app.controller.session.trials
        assert trial.value == 2.0
        assert driver.app.screen.itinerary.item.side == "left"


async def test_leaving_an_ended_trial_can_strike_it_out(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("space", "space", "n", "2")
        (trial,) = driver.app.controller.session.trials
        assert trial.void == "left before it was saved"
        assert driver.app.screen.itinerary.item.side == "left"


async def test_a_skip_needs_a_reason_and_is_saved(open_program, store: SessionStore) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("s", "b")
        assert driver.app.controller.session.skipped == ()
        await driver.press("s", "0")
        await driver.type("no rail here")
        await driver.press("enter")
        (skip,) = store.load(driver.app.controller.session.id).skipped
        assert (skip.test, skip.side, skip.reason) == ("stance", "right", "no rail here")
        assert driver.app.screen.itinerary.item.side == "left"
        await driver.press("v")
        assert "Skipped: no rail here" in driver.text()


async def test_a_repeat_is_marked_with_its_cue(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("c")
        assert "A cue comes after a trial without one" in driver.words()
        await driver.press("space", "space", "enter", "c")
        assert "Keep the pelvis level." in driver.text()
        await driver.press("1")
        assert "Cue: Keep the pelvis level." in driver.words()
        await driver.press("space", "space", "enter")
        _, trial = driver.app.controller.session.trials
        assert trial.cue == "pelvis-level"
        # One of the two without a cue is still open.
        assert driver.app.screen.itinerary.item.side == "right"
        assert "trial 2 of 2" in driver.text()
        await driver.press("space", "space", "enter")
        assert driver.app.screen.itinerary.item.side == "left"


async def test_stopping_for_safety_keeps_what_was_begun_and_gives_the_reason(
    open_program, store: SessionStore
) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("space", "!")
        assert "STOP TESTING" in driver.text()
        assert "Chest pain." in driver.text()
        await driver.press("1")
        assert isinstance(driver.app.screen, ResultScreen)
        session = store.load(driver.app.controller.session.id)
        assert session.stopped == "Chest pain."
        assert session.trials[0].void == "the session was stopped"
        assert "do that test" not in driver.text()
        await driver.press("b")
        assert "New session" in driver.text()


async def test_help_tells_how_the_test_is_done(open_program) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        await driver.press("?")
        text = await driver.read_on()
        for part in ("Stand close.", "Chair against the wall.", "Sways.", "Chest pain."):
            assert part in text
        await driver.press("b")
        assert isinstance(driver.app.screen, TestScreen)


async def test_a_number_that_cannot_be_is_refused_at_the_field(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.type("300")
        await driver.press("enter")
        assert "300 cannot be; type -30 to 120." in driver.words()
        assert driver.app.controller.session.trials == ()
        await driver.press("backspace", "backspace", "backspace")
        await driver.type("-5")
        await driver.press("enter")
        (trial,) = driver.app.controller.session.trials
        assert trial.value == -5.0


async def test_the_end_of_a_series_rings_and_is_shown(
    open_program, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with open_program() as driver:
        await at_stance(driver)
        rung: list[float] = []
        monkeypatch.setattr(driver.app, "bell", lambda: rung.append(driver.clock.monotonic()))
        await driver.press("space")
        await driver.wait(46)
        await driver.wait(0.1)
        assert len(rung) == 1
        assert "FULL TIME" in driver.text()


def first_line(driver) -> str:
    return " ".join(driver.text().splitlines()[0].split())


async def test_the_minutes_left_stand_in_whole_minutes_beside_the_place(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await answered(driver)
        left = driver.app.screen.itinerary.minutes_left
        assert f" {left:.0f} min left" in first_line(driver)


async def test_what_is_left_falls_with_each_trial_and_never_shows_too_little(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("n", "n")  # the stance: two trials, one minute a leg
        before = driver.app.screen.itinerary.minutes_left
        await driver.press("space", "space", "enter")
        assert driver.app.screen.itinerary.minutes_left == before - 0.5
        # Half a minute more is a whole one.
        assert f" {before:.0f} min left" in first_line(driver)


async def test_the_raises_are_followed_by_a_rest_before_anything_in_standing(open_program) -> None:
    async with open_program(protocol=SHIPPED) as driver:
        driver.app.controller.begin(
            Client(label="K-014", age=67, sex="female"), Intake(side="left", goals=("walking",))
        )
        driver.app.go_test()
        await driver.settle()
        page = driver.app.screen
        items = {one.test: one for one in reversed(page.itinerary.allowed)}
        page.take_up(items["straight-leg-raise-hold"])
        await driver.press("space", "space", "enter", "3", "enter")
        assert driver.app.controller.session.trials
        page.take_up(items["knee-extension"])
        await driver.settle()
        assert "- REST -" not in driver.text()
        page.take_up(items["tandem-stance"])
        await driver.settle()
        assert "- REST -" in driver.text()
        assert "Say: One foot right in front of the other." in driver.words()
        await driver.press("space")
        assert ">> RUNNING <<" in driver.text()
        await driver.press("space", "x", "1")
        await driver.wait(120)
        assert "- REST -" not in driver.text()
