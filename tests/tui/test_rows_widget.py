"""The rows of a screen: only those that have changed are painted again."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest
from support.settled import settled
from textual.app import App, ComposeResult
from textual.geometry import Region
from textual.pilot import Pilot
from textual.strip import Strip

from screen_tui.tui.drawing.rows import Row, row
from screen_tui.tui.widgets import RowsWidget


class Counting(RowsWidget):
    """Notes which of its lines are drawn."""

    def __init__(self) -> None:
        super().__init__("widget")
        self.drawn: list[int] = []

    def render_line(self, y: int) -> Strip:
        self.drawn.append(y)
        return super().render_line(y)


class OneWidget(App[None]):
    def __init__(self, height: str) -> None:
        super().__init__()
        self.widget = Counting()
        self.widget.styles.height = height

    def compose(self) -> ComposeResult:
        yield self.widget


@asynccontextmanager
async def shown(*texts: str, height: str = "auto") -> AsyncIterator[Counting]:
    app = OneWidget(height)
    async with app.run_test(size=(20, 8)):
        app.widget.show(rows(*texts))
        await settled(app)
        app.widget.drawn.clear()
        yield app.widget


def rows(*texts: str) -> tuple[Row, ...]:
    return tuple(row(text) for text in texts)


def lines(widget: RowsWidget) -> list[str]:
    strips = widget.screen._compositor.render_strips()
    return [strip.text.rstrip() for strip in strips]


async def test_a_changed_row_is_painted_alone() -> None:
    async with shown("one", "two", "three") as widget:
        widget.show(rows("one", "TWO", "three"))
        await settled(widget.app)
        assert widget.drawn == [1]
        assert lines(widget)[:3] == ["one", "TWO", "three"]


async def test_the_same_rows_paint_nothing() -> None:
    async with shown("one", "two") as widget:
        widget.show(rows("one", "two"))
        await settled(widget.app)
        assert widget.drawn == []


@pytest.mark.parametrize("height", ["auto", "1fr"])
async def test_rows_come_and_go(height: str) -> None:
    async with shown("one", "two", height=height) as widget:
        widget.show(rows("one", "two", "three"))
        await settled(widget.app)
        assert lines(widget)[:4] == ["one", "two", "three", ""]
        widget.show(rows("one"))
        await settled(widget.app)
        assert lines(widget)[:4] == ["one", "", "", ""]
        assert widget.size.height == (1 if height == "auto" else 8)


async def test_where_it_fills_its_place_a_further_row_moves_nothing() -> None:
    async with shown("one", height="1fr") as widget:
        widget.show(rows("one", "two"))
        await settled(widget.app)
        assert widget.drawn == [1]


async def test_what_is_too_wide_is_cut_and_takes_one_line() -> None:
    async with shown("x" * 30, "two") as widget:
        assert lines(widget)[:2] == ["x" * 20, "two"]


async def test_a_bracket_is_a_bracket() -> None:
    async with shown("[/] [b]\x1b") as widget:
        assert lines(widget)[0] == "[/] [b]\N{REPLACEMENT CHARACTER}"


async def test_a_look_of_its_own_paints_all_anew() -> None:
    async with shown("one", "two") as widget:
        widget.styles.background = "red"
        await settled(widget.app)
        assert widget.drawn == [0, 1]
        painted = widget.render_lines(Region(0, 0, 20, 2))
        assert {piece.style.bgcolor.name for line in painted for piece in line} == {"#ff0000"}


async def test_another_width_paints_all_anew() -> None:
    async with shown("one", "two") as widget:
        await Pilot(widget.app).resize_terminal(10, 8)
        await settled(widget.app)
        assert set(widget.drawn) == {0, 1}
        assert [line.cell_length for line in widget.render_lines(Region(0, 0, 10, 2))] == [10, 10]


async def test_margins_stand_on_both_sides_and_a_part_can_be_cut_out() -> None:
    async with shown("x" * 30) as widget:
        widget.styles.padding = (0, 2)
        await settled(widget.app)
        (line,) = widget.render_lines(Region(0, 0, 20, 1))
        assert line.text == f"  {'x' * 16}  "
        (part,) = widget.render_lines(Region(1, 0, 3, 1))
        assert part.text == " xx"


async def test_without_colour_nothing_is_coloured(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with shown("one") as widget:
        widget.styles.background = "red"
        await settled(widget.app)
        (line,) = widget.render_lines(Region(0, 0, 20, 1))
        colours = {piece.style.bgcolor.triplet for piece in line if piece.style.bgcolor}
        assert all(red == green == blue for red, green, blue in colours)
