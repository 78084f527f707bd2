"""Words meant to break a screen, in every field of a session and of a clinic's own protocol."""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st
from support.clock import FakeClock
from support.hands import Driver
from support.hostile import (
    MARKUP,
    hostile_protocol,
    hostile_session,
    told_protocol,
    told_session,
    words,
)
from support.thorough import examples

from screen_tui.errors import SaveFailedError
from screen_tui.files.text import first_control_character
from screen_tui.preferences import Opened, Preferred
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore
from screen_tui.trial.battery import Item
from screen_tui.tui import widgets
from screen_tui.tui.app import ScreenApp
from screen_tui.tui.drawing.rows import (
    Span,
    cells,
    clipped,
    ends,
    paragraph,
    row_cells,
    wrapped,
)
from screen_tui.tui.screens.dialogs import trouble_dialog


@asynccontextmanager
async def opened(
    text: str, size: tuple[int, int], **more: object
) -> AsyncIterator[tuple[Driver, Session]]:
    """The program with everything hostile: protocol, session, folder names, broken files."""
    with tempfile.TemporaryDirectory() as home:
        store = SessionStore(Path(home) / "sessions")
        kept = hostile_session(told_session(), text).model_copy(update=more)
        store.save(kept)
        name = "".join(text.replace("/", "|").split())[:20]
        (store.folder / f"{name}.toml").write_text(f'"{name[:3]}" = broken', "utf-8")
        preferred = Preferred(Path(home) / name / "p.toml", problems=(text,))
        told = hostile_protocol(told_protocol(), text)
        app = ScreenApp(Opened(told, store, preferred), FakeClock(), tick=False, environ={})
        async with app.run_test(size=size) as pilot:
            driver = Driver(app, pilot, app.clock)
            await driver.settle()
            yield driver, kept


async def shows_what_was_drawn(driver: Driver) -> str:
    """Hold that the screen shows what was drawn, letter by letter; and give it."""
    wrong = misdrawn(driver)
    assert not wrong, wrong
    text = driver.text()
    assert first_control_character(text.replace("\n", "")) is None
    return "".join(text.split())


def misdrawn(driver: Driver) -> list[tuple[str, str, str]]:
    """The rows of which the screen shows other letters than were drawn.

    Of a row that is too wide, because an unbroken word is, the beginning is shown.
    """
    page = driver.app.screen
    lines = driver.text().split("\n")
    found = []
    for part, rows in page._shown.items():
        region = page.query_one(f"#{part}").region
        if len(rows) > region.height:
            found.append((part, f"{region.height} rows", f"{len(rows)} rows"))
        for line, drawn in zip(lines[region.y : region.bottom], rows, strict=False):
            shown = "".join(line.split())
            wanted = "".join("".join(widgets.inert(span.text) for span in drawn).split())
            fits = row_cells(drawn) <= driver.app.size.width - 2
            if shown != wanted and not (shown and not fits and wanted.startswith(shown)):
                found.append((part, shown, wanted))
    return found


async def look(driver: Driver, visited: set[str]) -> str:
    """Read a screen to its end."""
    visited.add(type(driver.app.screen).__name__)
    await driver.settle()
    seen = await shows_what_was_drawn(driver)
    for _ in range(12):
        before = driver.app.screen._offset
        await driver.press("pagedown")
        if driver.app.screen._offset == before:
            break
        seen += await shows_what_was_drawn(driver)
    return seen


async def walk(text: str, size: tuple[int, int]) -> set[str]:
    """Go through every screen of the program."""
    visited: set[str] = set()
    squeezed = "".join(text.split())
    async with opened(text, size) as (driver, kept):
        app, press = driver.app, driver.press
        label = "".join(kept.client.label.split())
        assert label in await look(driver, visited)
        for key, back in (("?", "b"), ("o", "b"), ("k", "b")):
            await press(key)
            await look(driver, visited)
            await press(back)

        await press("?", "t")
        await look(driver, visited)
        await press("b", "b")

        await press("v")  # the clients, then the visits of one
        await look(driver, visited)
        await press("enter")
        assert label[:10] in await look(driver, visited)
        app.go_start()
        while len(app.screen_stack) > 2:
            app.pop_screen()
            await driver.settle()

        await press("n", "1")  # the questions; the second is one of safety
        await look(driver, visited)
        await press("?")
        await look(driver, visited)
        await press("b", "y")
        await look(driver, visited)
        await press("enter")
        await look(driver, visited)
        await press("b")
        app.controller.draft.forget()
        app.go_start(text)
        await driver.settle()

        app.controller.resume(kept.id)
        left = app.protocol.test("stance")
        app.go_test(Item("stance", "left", left.minutes))
        await driver.settle()
        assert squeezed[:10] in await look(driver, visited)
        for key in "?lmfsucjk!":
            await press(key)
            await look(driver, visited)
            while len(app.screen_stack) > 2:
                app.pop_screen()
                await driver.settle()

        app.go_result()
        await driver.settle()
        await look(driver, visited)
        for go in (app.go_details, app.go_plan, app.go_sheet):
            go()
            await driver.settle()
            await look(driver, visited)
        app.go_note()
        await driver.settle()
        note = await look(driver, visited)
        assert "Kneenote" in note
        await press("w", "0")
        await driver.fill(text[:120])
        await look(driver, visited)
        # Nothing is written where such words would lead.
        name = "".join(letter for letter in text if letter not in "/~")[:20]
        await driver.fill(str(app.controller.store.folder / f"n{name}"))
        await press("enter")
        assert "Writtento" in await look(driver, visited)

        app.controller.failure = SaveFailedError(text)
        app.push_screen(trouble_dialog(app.controller.trouble))
        await driver.settle()
        assert squeezed[:10] in await look(driver, visited)
    return visited


PAGES = {
    "AskDialog",
    "BeforeTestingScreen",
    "CautionScreen",
    "ClientScreen",
    "DetailsScreen",
    "HelpScreen",
    "NoteScreen",
    "PickScreen",
    "PlanScreen",
    "PreferencesScreen",
    "ReferFirstScreen",
    "ResultScreen",
    "SetUpScreen",
    "SheetScreen",
    "StartScreen",
    "StopDialog",
    "TestScreen",
    "TrialsScreen",
    "TypeInDialog",
    "VisitsScreen",
}


def test_every_screen_shows_markup_as_it_is() -> None:
    assert asyncio.run(walk(" ".join(MARKUP)[:390], (80, 24))) >= PAGES


@given(words(390))
@example("\u6f22\u5b57" * 150)
@settings(max_examples=max(1, examples(100) // 100))
def test_every_screen_shows_whatever_is_let_pass(text: str) -> None:
    assert asyncio.run(walk(text, (60, 20))) >= PAGES


@given(words(), st.integers(4, 90))
def test_rows_are_never_wider_than_the_window(text: str, width: int) -> None:
    # A letter of two columns needs two.
    assert all(cells(line) <= max(width, 2) for line in wrapped(text, width))
    assert cells(clipped(text, width)) <= width
    assert "".join(wrapped(text, width)).replace(" ", "") == "".join(text.split())
    for row in paragraph(text, width, first=(Span("- "),)):
        assert row_cells(row) <= width
    assert row_cells(ends((Span(text),), (Span(text), Span("1/9")), width)) <= width
