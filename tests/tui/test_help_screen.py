"""Help: of the page, every topic, and every way out of it."""

from __future__ import annotations

import re

import pytest

from screen_tui.guides import TOPICS, guide
from screen_tui.tui.drawing.rows import ascii_rows, plain, row_cells
from screen_tui.tui.screens.help import HelpScreen, draw_guide
from screen_tui.tui.screens.list import PickScreen
from screen_tui.tui.screens.start import StartScreen


@pytest.mark.parametrize(
    ("way", "topic"),
    [
        ("", "start"),
        ("n", "before-testing"),
        ("v", "visits"),
        ("o", "preferences"),
        ("p", "practice"),
    ],
)
async def test_help_is_of_the_page(open_program, way: str, topic: str) -> None:
    async with open_program() as driver:
        await driver.press(*way.split(), "?")
        assert isinstance(driver.app.screen, HelpScreen)
        assert driver.app.screen.topic == topic
        assert "  ".join(("Help", topic)).split() == driver.text().splitlines()[0].split()[:2]


@pytest.mark.parametrize(
    ("way", "topic"), [("g", "answer"), ("g enter", "answer"), ("g enter enter", "note")]
)
async def test_help_behind_the_tests_is_of_the_page(
    open_program, answered, way: str, topic: str
) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press(*way.split(), "?")
        assert driver.app.screen.topic == topic


async def test_at_a_test_help_says_how_it_is_done_and_topics_are_a_key_away(
    open_program, answered, knee
) -> None:
    async with open_program() as driver:
        await answered(driver)
        name = knee.test(driver.app.screen.itinerary.item.test).name
        await driver.press("?")
        assert name in driver.text().splitlines()[0]
        assert "Stop at once" in await driver.read_on()
        await driver.press("t", "1")
        assert driver.app.screen.topic == "start"
        assert name not in driver.text()


async def test_a_question_on_a_page_has_the_help_of_the_page(open_program, answered) -> None:
    async with open_program() as driver:
        await answered(driver)
        await driver.press("g", "!", "?")
        assert driver.app.screen.topic == "answer"


@pytest.mark.parametrize("key", ["b", "q", "?", "enter", "backspace"])
async def test_every_key_that_leaves_a_page_leaves_help(open_program, key: str) -> None:
    async with open_program() as driver:
        await driver.press("?", key)
        assert isinstance(driver.app.screen, StartScreen)


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_a_topic_is_chosen_and_read_from_its_top(open_program, size) -> None:
    async with open_program(size=size) as driver:
        await driver.press("?", "space", "t")
        assert isinstance(driver.app.screen, PickScreen)
        await driver.press("down", "down", "enter")
        assert driver.app.screen.topic == "tests"
        assert "Keys at a test" in await driver.read_on()
        await driver.press("t", "q")
        assert isinstance(driver.app.screen, HelpScreen)


@pytest.mark.parametrize("topic", TOPICS)
@pytest.mark.parametrize("width", [58, 78])
def test_a_guide_is_drawn_whole_and_within_the_width(topic: str, width: int) -> None:
    rows = draw_guide(guide(topic), width)
    assert all(row_cells(row) <= width for row in rows)
    drawn = set(re.findall(r"[a-z0-9]{3,}", plain(rows).lower()))
    # The title is in the head of the page; a table needs no heads; code is broken anywhere.
    undrawn = r"^# .*|^\|.*\n(?=\|---)|```[^`]*```"
    text = re.sub(undrawn, "", guide(topic), flags=re.MULTILINE)
    assert len(text) > 500
    assert set(re.findall(r"[a-z0-9]{3,}", text.lower())) <= drawn
    if topic != "tests":  # which names the arrow keys
        assert plain(ascii_rows(rows)).isascii()


def test_code_keeps_its_blanks_and_marks_go() -> None:
    drawn = plain(draw_guide("# A\n\nPress `q`, **now**.\n\n```toml\na  = 1\n\nb = 2\n```\n", 40))
    assert drawn == "Press q, now.\n\na  = 1\n\nb = 2"
