"""One person from Start to a saved note, through the real keys, with a clock the test moves."""

from __future__ import annotations

import tomllib

import pytest
from support.form_keys import LEFT_AND_SAFE, SHIPPED_NOT_ASKED

from screen_tui.engine.assess import assess
from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.report.layout import PAPER
from screen_tui.session.store import SessionStore
from screen_tui.trial.battery import plan_battery
from screen_tui.tui.screens.note import NoteScreen
from screen_tui.tui.screens.result import PlanScreen, ResultScreen
from screen_tui.tui.screens.test import TestScreen

PROTOCOL = load_protocol([protocols_folder()])


class Therapist:
    """What the therapist does, one method per kind of test."""

    def __init__(self, driver) -> None:
        self.driver = driver

    def stands_at(self, test: str, side: str | None) -> None:
        item = self.driver.app.screen.itinerary.item
        assert (item.test, item.side) == (test, side)

    async def sees(self, *signs: str) -> None:
        await self.driver.press(*(str(PROTOCOL.sign(sign).digit) for sign in signs))

    async def keeps(self) -> None:
        await self.driver.press("enter")
        assert "Saved: " in self.driver.text()

    async def measures(self, *numbers: str) -> None:
        for number in numbers:
            await self.driver.type(number)
            await self.driver.press("enter")
        await self.keeps()

    async def times(self, seconds: float) -> None:
        """Start, let the time pass and stop; the stamps alone say how long it was."""
        await self.driver.press("space")
        started = self.driver.clock.monotonic()
        self.driver.pass_time(seconds)
        await self.driver.press_at("space", started + seconds)
        assert "STOPPED" in self.driver.text()

    async def times_to_the_cap(self, cap: float) -> None:
        await self.driver.press("space")
        await self.driver.wait(cap + 0.1)
        assert "RUNNING" in self.driver.text()  # a press under way may still count
        await self.driver.wait(0.1)
        assert "RUNNING" not in self.driver.text()

    async def counts(self, splits: list[float]) -> None:
        await self.driver.press("space")
        started = self.driver.clock.monotonic()
        for split in splits:
            self.driver.pass_time(started + split - self.driver.clock.monotonic())
            await self.driver.press_at("space", started + split)
            await self.driver.wait(0.2)  # the gate lets a press through after a short silence

    async def watches(self) -> None:
        wanted = self.driver.app.screen.itinerary.spec.timer.repetitions
        await self.driver.press(*["space"] * wanted)


async def asks_before_testing(driver) -> None:
    await driver.press("n")
    await driver.press(*LEFT_AND_SAFE)
    await driver.press("1")  # full weight-bearing
    await driver.press("enter")  # no surgery
    await driver.press("1", "enter")  # pain
    await driver.press("1", "4", "enter")  # walking, stairs
    await driver.press(*SHIPPED_NOT_ASKED)
    await driver.type("K-014")
    await driver.press("enter")
    await driver.type("34")
    await driver.press("enter", "1", "enter")


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_one_person_from_start_to_a_saved_note(
    open_program, store: SessionStore, size: tuple[int, int]
) -> None:
    async with open_program(size, protocol=PROTOCOL) as driver:
        me = Therapist(driver)
        await asks_before_testing(driver)
        assert isinstance(driver.app.screen, TestScreen)

        for side in ("right", "left"):
            me.stands_at("knee-extension", side)
            await me.measures("-2", "-1")
        # No quad set and no raises: the legs may be loaded and show no lag.
        me.stands_at("tandem-stance", None)
        await me.times_to_the_cap(10)
        await me.keeps()

        me.stands_at("single-leg-stance", "right")
        await me.times_to_the_cap(45)
        await me.keeps()
        me.stands_at("single-leg-stance", "left")
        for seconds in (6.2, 8.4, 7.1):
            await me.times(seconds)
            await me.sees("pelvis-drops")
            await me.keeps()

        me.stands_at("walk-4m", None)
        for seconds in (2.9, 2.84):
            await me.times(seconds)
            await me.keeps()

        me.stands_at("five-chair-stands", None)
        await me.counts([1.5 * stand for stand in range(1, 6)])
        await me.keeps()

        me.stands_at("step-down", "right")
        await me.watches()
        await me.keeps()
        me.stands_at("step-down", "left")
        await me.watches()
        await me.sees("pelvis-drops", "trunk-leans")
        await driver.press("p", "3")
        await me.keeps()

        me.stands_at("stair-steps", None)
        await driver.press("s", "6")  # no room or equipment
        assert isinstance(driver.app.screen, ResultScreen)
        lines = driver.text().split("\n")
        assert lines[1].strip() == "LIKELY Hip control, left"

        await driver.press("enter")
        assert isinstance(driver.app.screen, PlanScreen)
        await driver.press("enter")
        assert isinstance(driver.app.screen, NoteScreen)
        await driver.press("w", "1")
        session_id = driver.app.controller.session.id
        await driver.press("enter")
        assert "K-014 is finished and saved." in driver.text()

    session = store.load(session_id)
    stance = session.trials_of("single-leg-stance", "left")
    assert [trial.value for trial in stance] == [6.2, 8.4, 7.1]
    assert [trial.raw_value for trial in stance] == pytest.approx([6.2, 8.4, 7.1], abs=1e-6)
    assert {trial.signs for trial in stance} == {("pelvis-drops",)}
    (right,) = session.trials_of("single-leg-stance", "right")
    assert (right.value, right.ended) == (45.0, "cap")
    (stands,) = session.trials_of("five-chair-stands")
    assert stands.value == 7.5
    assert stands.splits == pytest.approx([1.5 * stand for stand in range(1, 6)])
    assert [trial.value for trial in session.trials_of("walk-4m")] == [2.9, 2.84]
    (step_down,) = session.trials_of("step-down", "left")
    assert (step_down.signs, step_down.pain) == (("pelvis-drops", "trunk-leans"), 3)
    assert [(skip.test, skip.reason) for skip in session.skipped] == [
        ("stair-steps", "no room or equipment")
    ]
    assert session.finished is not None

    # The file is plain TOML, whoever reads it.
    document = tomllib.loads(store.path_of(session_id).read_text(encoding="utf-8"))
    assert document["client"] == {"label": "K-014", "age": 34, "sex": "female"}
    assert document["trials"][0]["test"] == "knee-extension"

    assessment = assess(PROTOCOL, session)
    assert assessment.outcome == "likely"
    assert [(one.driver, one.side) for one in assessment.leading] == [("hip-control", "left")]

    note = (store.folder / "notes" / f"{session_id}.txt").read_text(encoding="ascii")
    assert max(len(line) for line in note.split("\n")) <= PAPER
    for part in (
        "K-014, 34 years",
        "8.4, worse than 10.0 s",
        "Hip control",
        "no room or equipment",
        "Not a diagnosis",
    ):
        assert part in note
    assert "not finished" not in note


async def test_space_turns_the_page_of_a_test_whose_numbers_are_typed(open_program) -> None:
    async with open_program(protocol=PROTOCOL, size=(60, 20)) as driver:
        await asks_before_testing(driver)
        assert "Space more, 1 of" in driver.words()
        await driver.press("space")
        assert "Space more, 2 of" in driver.words()
        assert "nothing is timed" not in driver.words()
        await driver.press("5", "space")
        assert "Passive, degrees short of straight: 5" in driver.words()


async def test_space_counts_where_what_is_typed_is_counted(open_program) -> None:
    async with open_program(protocol=PROTOCOL, size=(60, 20)) as driver:
        await asks_before_testing(driver)
        page = driver.app.screen
        items = plan_battery(PROTOCOL, driver.app.controller.session.intake, 34, ("heel-raise",))
        page.take_up(next(item for item in items if item.test == "heel-raise"))
        await driver.settle()
        assert "PgDn more, 1 of" in driver.words()
        await driver.press("space", "space")
        assert driver.app.screen.trial.entry.texts == ("2",)
