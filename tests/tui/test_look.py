"""The look: readable in every mode, complete without colour, no traffic light."""

from __future__ import annotations

import colorsys
from itertools import product
from typing import get_args

import pytest
from textual.color import Color
from textual.theme import Theme

from screen_tui.tui.drawing.rows import Span, ascii_rows, row_cells
from screen_tui.tui.settings import THEMES, ColourMode, Settings, choose_colour_mode, theme_name

OWN_COLOURS = [look for look in THEMES if not look.ansi]


def luminance(colour: str) -> float:
    """Relative luminance, as the Web Content Accessibility Guidelines 2.1 (W3C 2018) define it."""

    def linear(part: int) -> float:
        share = part / 255
        return share / 12.92 if share <= 0.03928 else ((share + 0.055) / 1.055) ** 2.4

    red, green, blue = Color.parse(colour).rgb
    return 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)


def contrast(one: str, other: str) -> float:
    """Contrast ratio, the same guidelines."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize("look", OWN_COLOURS, ids=lambda look: look.name)
def test_all_text_has_the_contrast_the_guidelines_ask_for(look: Theme) -> None:
    # W3C WCAG 2.1: 4.5 to 1 for text (success criterion 1.4.3), 7 to 1 enhanced (1.4.6).
    least = 7.0 if look.name == theme_name("high-contrast") else 4.5
    inks = [look.foreground, *look.variables.values()]
    for ink, paper in product(inks, [look.background, look.panel]):
        assert contrast(str(ink), str(paper)) >= least, (ink, paper)


@pytest.mark.parametrize("look", OWN_COLOURS, ids=lambda look: look.name)
def test_no_accent_is_red_yellow_or_green(look: Theme) -> None:
    for name in ("first-accent", "second-accent"):
        red, green, blue = (part / 255 for part in Color.parse(look.variables[name]).rgb)
        hue = colorsys.rgb_to_hls(red, green, blue)[0] * 360
        # Red lies about 0, yellow about 60, green about 120 degrees of the colour circle.
        assert 180 < hue < 320, (name, hue)


@pytest.mark.parametrize(
    ("asked", "environ", "chosen"),
    [
        ("auto", {"TERM": "xterm-256color"}, "dark"),
        ("auto", {"TERM": "xterm", "COLORTERM": "truecolor"}, "dark"),
        ("auto", {"TERM": "linux"}, "monochrome"),
        ("light", {"TERM": "linux"}, "light"),
        ("auto", {"TERM": "xterm-256color", "NO_COLOR": "1"}, "monochrome"),
        ("high-contrast", {"TERM": "xterm-256color", "NO_COLOR": "1"}, "monochrome"),
        ("light", {"TERM": "xterm-256color", "NO_COLOR": ""}, "light"),
    ],
)
def test_the_colour_mode_is_decided_by_the_wish_the_terminal_and_no_color(
    asked, environ: dict[str, str], chosen: str
) -> None:
    # NO_COLOR counts when it is set and not empty (no-color.org).
    assert choose_colour_mode(asked, environ) == chosen


@pytest.mark.parametrize("mode", get_args(ColourMode))
async def test_every_mode_opens_and_shows_the_same_words(open_program, mode) -> None:
    async with open_program(settings=Settings(colour_mode=mode)) as driver:
        assert "New session" in driver.text()
        await driver.press("n", "1", "y")
        assert "REFER FIRST" in driver.text()


async def test_without_colour_no_cell_has_a_colour_of_its_own(
    open_program, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with open_program(settings=Settings(colour_mode="monochrome")) as driver:
        await driver.press("n")
        segments = [
            segment
            for strip in driver.app.screen._compositor.render_strips()
            for segment in strip.apply_filter(driver.app._filters[-1], Color.parse("black"))
        ]
    colours = {
        str(colour)
        for segment in segments
        if segment.style is not None
        for colour in (segment.style.color, segment.style.bgcolor)
        if colour is not None and not colour.is_default
    }
    assert colours == set()
    assert any(segment.style and segment.style.reverse for segment in segments)


async def test_ascii_draws_the_same_screen_in_ascii(open_program, answered) -> None:
    async with open_program(settings=Settings(ascii_only=True)) as driver:
        await answered(driver)
        await driver.press("n", "n")
        assert driver.text().isascii()
        await driver.press("space")
        assert driver.text().isascii()
        assert sum("##" in line for line in driver.text().split("\n")) >= 5


def test_ascii_rows_are_as_wide_as_the_others() -> None:
    rows = [(Span("── █▏ ↑↓ · … “x”"),)]
    assert [row_cells(line) for line in ascii_rows(rows)] == [row_cells(line) for line in rows]


@pytest.mark.parametrize("size", [(59, 20), (60, 19), (20, 6)])
async def test_a_window_too_small_asks_for_room_and_goes_on_when_it_gets_it(
    open_program, size: tuple[int, int]
) -> None:
    async with open_program(size) as driver:
        await driver.press("o")
        assert driver.words().startswith("Make the window larger")
        assert "Count-in" not in driver.text()
        await driver.pilot.resize_terminal(60, 20)
        await driver.settle()
        assert "Count-in" in driver.text()
        assert "Make the window larger" not in driver.text()
        await driver.pilot.resize_terminal(*size)
        await driver.settle()
        assert driver.words().startswith("Make the window larger")
        assert "Count-in" not in driver.text()
