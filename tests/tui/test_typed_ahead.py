"""Keys typed before the page they lead to is there: they reach that page, as if typed in time."""

from __future__ import annotations

import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import partial
from itertools import product
from pathlib import Path

import pytest
from support import small_protocol as small
from support.every_page import Pages
from support.faulty_disk import FaultyDisk
from support.hands import Driver
from support.practice_case import PROTOCOL, STANCE, case_data, case_of, write_case
from textual import events

from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore
from screen_tui.trial.battery import Item
from screen_tui.tui.app import ScreenApp
from screen_tui.tui.practising import Practising
from screen_tui.tui.screens import practice
from screen_tui.tui.screens.base import BaseScreen
from screen_tui.tui.screens.trials import AddendumScreen

UNFINISHED = "2026-03-02-0915-7f3a"
INTAKE = {"side": "left", "goals": ["walking"]}


def at_start(app: ScreenApp) -> None:
    app.go_start()


def at_an_addendum(app: ScreenApp) -> None:
    app.go_start()
    app.push_screen(AddendumScreen(finished()))


def at_a_stance(app: ScreenApp) -> None:
    """On one leg, with one trial of it kept before."""
    app.controller.resume(UNFINISHED)
    app.go_test(Item("single-leg-stance", "left", 2.0))


def at_the_result(app: ScreenApp) -> None:
    app.controller.resume(UNFINISHED)
    app.go_result()


def at_the_plan(app: ScreenApp) -> None:
    app.controller.resume(UNFINISHED)
    app.go_plan()


def at_the_note(app: ScreenApp) -> None:
    app.controller.resume(UNFINISHED)
    app.go_note()


def at_a_patient(app: ScreenApp) -> None:
    """At a stance of a simulated patient."""
    case = case_of(STANCE)
    app.practising = Practising.begin(case, app.controller)
    app.controller = app.practising.controller
    app.controller.begin(case.patient, unfinished().intake)
    app.go_test()


def at_the_answer(app: ScreenApp) -> None:
    """Where a student answers."""
    at_a_patient(app)
    app.go_result()


FROM_START = {
    "start": "",
    "help": "?",
    "preferences": "o",
    "visits": "v",
    "search the visits": "v /",
    "client": "v enter",
    "questions": "n",
    "refer first": "n y",
    "leave the questions": "n n q",
    "cases": "p",
    "progress": "p p",
    "story": "p enter",
    "questions to a patient": "p enter enter",
    "leave practice": "p enter enter q",
}
FROM_AN_ADDENDUM = {
    "addendum": "",
    "addendum in words": "enter x",
    "addendum to a trial": "down enter",
    "value of an addendum": "down enter 1 3",
    "reason of an addendum": "down enter 2 x",
}
FROM_A_TEST = {
    "test": "",
    "test that runs": "space",
    "all keys": "k",
    "help on a test": "?",
    "set-up": "u",
    "note to a trial": "m x",
    "correct a value": "f 3",
    "why corrected": "f 3 enter",
    "skip": "s",
    "skip in own words": "s 0 x",
    "cue": "c",
    "all tests": "j",
    "kept trials": "l",
    "strike a kept trial out": "l x",
    "leave an ended trial": "space space n",
    "leave a prepared trial": "1 q",
}
FROM_THE_NOTE = {"note": "", "where the note goes": "w", "where the sheet goes": "p"}
FROM_THE_ANSWER = {
    "answer": "",
    "answer is complete": "3 enter 1 enter enter",
    "scores": "3 enter 1 enter enter enter",
}
PAGES = {
    "start": (at_start, FROM_START),
    "addendum": (at_an_addendum, FROM_AN_ADDENDUM),
    "test": (at_a_stance, FROM_A_TEST),
    "result": (at_the_result, {"result": ""}),
    "plan": (at_the_plan, {"plan": ""}),
    "note": (at_the_note, FROM_THE_NOTE),
    "test of a patient": (at_a_patient, {"test of a patient": ""}),
    "answer of a student": (at_the_answer, FROM_THE_ANSWER),
}
"""Every page, by the keys that lead to it from one that is gone to at once."""

LEAVING = {
    "stop the screen": "!",
    "stop while a trial runs": "space !",
    "stop from help": "? !",
    "stop in own words": "! 0 x",
    "leave the program": "space ctrl+c",
    "leave while a note is typed": "space space m x ctrl+q",
}
ON_A_FULL_DISK = {
    "not saved": "s 1",
    "leave though not saved": "s 1 b ctrl+c",
}
"""The pages of stopping and leaving, by the keys that lead to them from a test."""


def unfinished() -> Session:
    return small.session(
        {"test": "single-leg-stance", "side": "left", "value": 8.0},
        protocol=PROTOCOL.battery.id,
        intake=INTAKE,
    )


def finished() -> Session:
    """A visit of somebody else, a week later."""
    begun = unfinished()
    later = begun.started.replace(day=9)
    client = begun.client.model_copy(update={"label": "K-002"})
    changed = {"id": "2026-03-09-0915-8a4b", "started": later, "finished": later, "client": client}
    return begun.model_copy(update=changed)


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> FaultyDisk:
    """A disk that loses nothing however fast it is left."""
    monkeypatch.setattr(os, "fsync", lambda _handle: None)
    return FaultyDisk(monkeypatch)


@pytest.fixture
def open_pages(open_program, store: SessionStore, disk: FaultyDisk, tmp_path: Path, monkeypatch):
    """Open the program; where nobody looks, its pages have nothing to draw on."""
    monkeypatch.setenv("SCREEN_TUI_HOME", str(tmp_path))
    case = write_case(case_data(STANCE), tmp_path / "cases")
    monkeypatch.setattr(practice, "practice_cases_folder", lambda: case.parent)

    @asynccontextmanager
    async def opened(*, seen: bool = False) -> AsyncIterator[Pages]:
        async with open_program(protocol=PROTOCOL) as driver:
            if not seen:
                monkeypatch.setattr(BaseScreen, "compose", lambda _page: ())
                monkeypatch.setattr(BaseScreen, "_compositor_refresh", lambda _page: None)
            yield Pages(driver, store, disk, unfinished(), finished())

    return opened


@pytest.fixture
def acted(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str]]:
    """Which page acted on which key."""
    done: list[tuple[str, str]] = []
    act_on = BaseScreen.act_on

    def noted(page: BaseScreen[object], key: str, event: events.Key) -> None:
        done.append((type(page).__name__, key))
        act_on(page, key, event)

    monkeypatch.setattr(BaseScreen, "act_on", noted)
    return done


async def reach_the_page_they_lead_to(
    pages: Pages, acted: list[tuple[str, str]], bring_on, most: int
) -> None:
    """Type all rows of so many keys, each in one write, and hold which page acts on which key.

    A key must act once, on the page that is on after the keys before it. Once the program is left
    none acts; of the rows that go on from there one is enough.
    """
    await bring_on()
    keys = pages.keys_here()
    known: dict[tuple[str, ...], tuple[list[tuple[str, str]], list[str]]] = {}
    known[()] = ([], pages.names[-1:])
    for count in range(1, most + 1):
        for row in product(keys, repeat=count):
            if row[:-1] not in known:
                continue
            before, there = known[row[:-1]]
            if not there and row[-1] != keys[0]:
                continue
            await bring_on()
            acted.clear()
            await pages.type(*row, at=-2.0, between=0.3, ahead=True)
            wanted = [*before, *((page, row[-1]) for page in there)]
            # What is chosen on the list of all keys is pressed on the page below it.
            chosen = acted[len(wanted) :] if wanted[-1][0] == "PickScreen" else []
            assert acted == [*wanted, *chosen], row
            known[row] = ([*acted], [] if pages.left else pages.names[-1:])


@pytest.mark.parametrize("where", PAGES)
async def test_any_two_keys_in_one_write(open_pages, acted, where: str) -> None:
    base, paths = PAGES[where]
    async with open_pages() as pages:
        for path in paths.values():
            await reach_the_page_they_lead_to(pages, acted, partial(pages.bring_on, base, path), 2)


@pytest.mark.parametrize("full", [False, True])
async def test_any_three_keys_in_one_write_where_one_stops_or_leaves(
    open_pages, acted, full: bool
) -> None:
    paths = ON_A_FULL_DISK if full else LEAVING
    async with open_pages() as pages:
        for path in paths.values():
            bring_on = partial(pages.bring_on, at_a_stance, path, full=full)
            await reach_the_page_they_lead_to(pages, acted, bring_on, 3)


@pytest.mark.parametrize(
    ("base", "path", "keys"),
    [
        (at_a_stance, "", "q n"),
        (at_a_stance, "", "s 1 q n"),
        (at_a_stance, "!", "1 2"),
        (at_a_stance, "! 0 x", "enter enter b"),
        (at_a_stance, "space space", "enter q 1 n"),
        (at_a_stance, "space space n", "2 ? b"),
        (at_the_result, "", "enter enter w b enter n"),
        (at_start, "v enter", "r n b"),
    ],
)
async def test_a_row_of_keys_in_one_write_comes_to_what_it_comes_to_in_time(
    open_pages, base, path: str, keys: str
) -> None:
    came_to = []
    async with open_pages(seen=True) as pages:
        for ahead in (False, True):
            await pages.bring_on(base, path)
            await pages.type(*keys.split(), at=-2.0, between=0.3, ahead=ahead)
            came_to.append(pages.seen())
    assert came_to[0] == came_to[1]


async def test_a_press_that_waits_at_its_gate_comes_before_a_key_that_leads_elsewhere(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await answered(driver, bearing="5")
        await driver.press("5", "enter")
        # On the other leg the second Enter, soon after the first, waits; it ends the last test.
        driver.clock.advance(2.0)
        t = driver.clock.monotonic()
        for key, at in (("enter", 0.0), ("5", 0.3), ("enter", 0.6), ("?", 0.65)):
            await driver.press_at(key, t + at)
        assert len(driver.app.controller.session.trials) == 2
        names = [type(page).__name__ for page in driver.app.screen_stack]
        assert names == ["Screen", "ResultScreen", "HelpScreen"]


async def test_of_two_clicks_in_one_write_one_answers(open_program, answered, acted) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("s")
        acted.clear()
        first, second = (click_on(driver, "pain") for _ in range(2))
        driver.app.post_message(first)
        driver.app.post_message(second)
        await driver.settle()
        assert acted == [("AskDialog", "2")]
        assert len(driver.app.controller.session.skipped) == 1


async def test_a_page_that_another_replaces_takes_with_it_what_lies_on_top(
    open_program, answered
) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("s")
        driver.app.go_result()
        await driver.settle()
        assert [type(page).__name__ for page in driver.app.screen_stack] == [
            "Screen",
            "ResultScreen",
        ]


def click_on(driver: Driver, text: str) -> events.MouseDown:
    """A click on the first place where a text stands on the screen."""
    line, words = next(
        (at, line) for at, line in enumerate(driver.text().splitlines()) if text in line
    )
    column = words.index(text)
    event = events.MouseDown(
        None, column, line, 0, 0, 1, False, False, False, screen_x=column, screen_y=line
    )
    event.time = driver.clock.monotonic()
    return event
