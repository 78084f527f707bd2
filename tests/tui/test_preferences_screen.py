"""Preferences: chosen on their page, saved at once, and kept to by the other screens."""

from __future__ import annotations

from base64 import b64decode
from pathlib import Path
from typing import get_args

import pytest
from support import small_protocol as small
from textual.color import Color

from screen_tui.preferences import (
    NAMES,
    Opened,
    Preferences,
    Preferred,
    load_preferences,
    preferred,
)
from screen_tui.session.model import Client, Intake
from screen_tui.session.store import SessionStore
from screen_tui.tui.app import ScreenApp
from screen_tui.tui.drawing.rows import LINE, plain, row_cells
from screen_tui.tui.run import run_app
from screen_tui.tui.screens.preferences import draw_preferences, value_words
from screen_tui.tui.screens.start import StartScreen
from screen_tui.tui.settings import (
    LATER,
    ColourMode,
    Settings,
    settings_after,
    settings_for,
    theme_name,
)

COLOURS = {"TERM": "xterm-256color"}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "config" / "preferences.toml"


@pytest.fixture
def opened(open_program, path: Path):
    """Open the program on a file of preferences, as the command does."""

    def open_with(size=(60, 20), environ=COLOURS, **more):
        given = Preferred(path, load_preferences(path), **more)
        settings = settings_for(given.now, environ)
        return open_program(size, settings=settings, preferred=given, environ=environ)

    return open_with


async def at_stance(driver) -> None:
    """Begin a session, and go to the stance of the right leg."""
    driver.app.controller.begin(
        Client(label="K-014", age=67, sex="female"), Intake(side="left", goals=("walking",))
    )
    driver.app.go_test()
    await driver.settle()
    await driver.press("n", "n")
    assert driver.app.screen.itinerary.item.test == "stance"


def rung_in(driver, monkeypatch: pytest.MonkeyPatch) -> list[float]:
    rung: list[float] = []
    monkeypatch.setattr(driver.app, "bell", lambda: rung.append(driver.clock.monotonic()))
    return rung


def number_is_marked(driver) -> bool:
    body = driver.app.screen._shown["body"]
    return any("█" in span.text and span.role == "cursor" for line in body for span in line)


@pytest.mark.parametrize("bell", [True, False])
@pytest.mark.parametrize("flash", [True, False])
async def test_bell_and_flash_are_heard_and_seen_only_where_wanted(
    open_program, monkeypatch: pytest.MonkeyPatch, bell: bool, flash: bool
) -> None:
    async with open_program(settings=Settings(bell=bell, flash=flash)) as driver:
        await at_stance(driver)
        rung = rung_in(driver, monkeypatch)
        await driver.press("space")
        assert not number_is_marked(driver)
        await driver.wait(46)
        assert number_is_marked(driver) is flash
        await driver.wait(0.1)
        assert len(rung) == bell
        # Words say it in any case.
        assert "FULL TIME" in driver.text()


async def test_the_count_in_is_used(open_program) -> None:
    async with open_program(settings=Settings(count_in_s=3)) as driver:
        await at_stance(driver)
        await driver.press("space")
        assert "COUNT-IN" in driver.text()
        await driver.wait(3.2)
        assert "RUNNING" in driver.text()


def widest(driver) -> int:
    return max(row_cells(line) for line in driver.app.screen._shown["body"])


async def test_the_narrow_layout_has_one_column_in_a_wide_window(open_program) -> None:
    async with open_program((120, 40)) as driver:
        await driver.press("n")
        assert widest(driver) > 72
    async with open_program((120, 40), settings=Settings(layout="narrow")) as driver:
        await driver.press("n")
        assert widest(driver) <= 72
        await at_stance(driver)
        assert widest(driver) <= 72


@pytest.mark.parametrize(
    ("environ", "mode"), [(COLOURS, "light"), ({**COLOURS, "NO_COLOR": "1"}, "monochrome")]
)
def test_the_app_is_constructed_for_what_is_preferred_and_the_terminal_allows(
    knee, store: SessionStore, path: Path, monkeypatch: pytest.MonkeyPatch, environ, mode
) -> None:
    apps: list[ScreenApp] = []
    monkeypatch.setattr(ScreenApp, "run", lambda app: apps.append(app))
    path.parent.mkdir()
    path.write_text(
        'theme = "light"\nbell = false\nflash = false\ncount_in_s = 5\nlayout = "narrow"\n'
    )
    opened = Opened(knee, store, preferred(path))
    run_app(opened, environ=environ)
    (app,) = apps
    wished = {"theme": "light", "count_in_s": 5, "bell": False, "flash": False, "layout": "narrow"}
    assert app.settings == Settings(colour_mode=mode, **wished)
    assert app.theme == theme_name(mode)
    assert app.ansi_color is (mode == "monochrome")


# The page.


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_every_preference_is_in_sight_with_its_value(opened, path: Path, size) -> None:
    async with opened(size) as driver:
        assert "o  preferences" in driver.text()
        await driver.press("o")
        text = driver.text()
        for line in ("1  Bell ", "2  Flash ", "3  Count-in ", "4  Layout ", "5  Theme "):
            assert line in text
        assert "6  Protocol ............. chairside-knee" in text
        assert "8  Clipboard ............ off" in text
        assert "9  Own folders .......... none" in text
        assert "Ring the terminal" in driver.words()
        await driver.press("b")
        assert isinstance(driver.app.screen, StartScreen)
        assert not path.exists()


@pytest.mark.parametrize("way", [["space"], ["enter"]])
async def test_a_change_is_saved_and_holds_at_once(
    opened, path: Path, way: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    async with opened() as driver:
        await driver.press("o", *way, "down", *way, "tab", *way, "4", *way)
        assert load_preferences(path) == Preferences(
            bell=False, flash=False, count_in_s=3, layout="narrow"
        )
        assert "Layout: narrow. Saved." in driver.text()
        await driver.press("b")
        await at_stance(driver)
        rung = rung_in(driver, monkeypatch)
        await driver.press("space")
        assert "COUNT-IN" in driver.text()
        await driver.wait(3.2)
        await driver.wait(46)
        assert rung == []
        assert not number_is_marked(driver)
        assert "COUNT-IN" not in driver.text()


async def test_up_goes_round_and_other_keys_do_nothing(opened, path: Path) -> None:
    async with opened() as driver:
        await driver.press("o", "up")
        assert "> 9 " in " ".join(driver.text().split())
        before = driver.text()
        await driver.press("9", "0", "z", "left", "escape", "backspace")
        assert driver.text() == before
        assert not path.exists()


async def test_rows_and_keys_can_be_clicked(opened, path: Path) -> None:
    async with opened() as driver:
        await driver.click("preferences")
        await driver.click("Count-in")
        assert not path.exists()
        await driver.click("change")
        assert load_preferences(path).count_in_s == 3
        await driver.click("back")
        assert isinstance(driver.app.screen, StartScreen)


async def test_a_look_changes_at_once(opened, path: Path) -> None:
    async with opened() as driver:
        assert driver.app.theme == theme_name("dark")
        await driver.press("o", "5")
        papers = []
        for chosen, mode in [("dark", "dark"), ("light", "light"), ("high-contrast",) * 2]:
            await driver.press("space")
            assert f"Theme: {chosen}. Saved." in driver.words()
            assert LATER not in driver.words()
            assert driver.app.theme == theme_name(mode)
            papers.append(driver.app.screen.styles.background)
            assert load_preferences(path).theme == chosen
        assert papers == [Color.parse(look) for look in ("#14191f", "#f4f3ef", "#000000")]
        await driver.press("b")
        assert driver.app.screen.styles.background == Color.parse("#000000")


async def test_monochrome_holds_from_the_next_start(opened, path: Path) -> None:
    path.parent.mkdir()
    path.write_text('theme = "high-contrast"\n')
    async with opened() as driver:
        await driver.press("o", "5", "space")
        assert f"Theme: monochrome. Saved. {LATER}" in driver.words()
        assert driver.app.theme == theme_name("high-contrast")
    assert path.read_text() == 'theme = "monochrome"\n'
    async with opened() as driver:
        assert driver.app.theme == theme_name("monochrome")
        assert driver.app.ansi_color
        await driver.press("o", "5", "space", "space")
        assert f"Theme: dark. Saved. {LATER}" in driver.words()
        assert driver.app.theme == theme_name("monochrome")


async def test_no_color_outranks_the_theme_and_says_so(opened, path: Path) -> None:
    path.parent.mkdir()
    path.write_text('theme = "dark"\n')
    async with opened(environ={**COLOURS, "NO_COLOR": "1"}) as driver:
        assert driver.app.theme == theme_name("monochrome")
        await driver.press("o", "5", "space")
        assert "Theme: light. Saved. NO_COLOR is set" in driver.words()
        assert driver.app.theme == theme_name("monochrome")


async def test_a_save_that_fails_says_why_and_the_choice_still_holds(opened, path: Path) -> None:
    path.parent.write_text("a file where the folder should be")
    async with opened() as driver:
        await driver.press("o", "space")
        assert "Bell: off. Not saved, so only until the program ends" in driver.words()
        assert "a file is where a folder is needed" in driver.words()
        assert driver.app.settings.bell is False
        await driver.press("b", "o")
        assert "Bell ................. off" in driver.text()


async def test_a_broken_file_is_shown_on_start_and_not_written_over(
    open_program, path: Path
) -> None:
    path.parent.mkdir()
    path.write_text("bell = 1\n")
    told = (f"{path}:1: bell: must be true or false",)
    async with open_program(preferred=Preferred(path, problems=told), environ=COLOURS) as driver:
        assert "cannot be used" in driver.text()
        assert "".join(told[0].split()) in "".join(driver.text().split())
        await driver.press("o", "space")
        assert "Bell: off. Not saved" in driver.words()
        assert driver.app.settings.bell is False
    assert path.read_text() == "bell = 1\n"


async def test_what_is_shown_below_a_long_list_is_in_sight_at_its_end(
    open_program, path: Path, store: SessionStore
) -> None:
    for number in range(20):
        store.save(small.session(id=f"2026-03-02-0915-{number:04}"))
    async with open_program(preferred=Preferred(path, problems=("1 bell", "2 bells"))) as driver:
        assert "- 2 bells" not in driver.text()
        await driver.press("up")
        assert "- 2 bells" in driver.text()
        assert "> " in driver.text()


async def test_another_protocol_can_be_chosen_for_the_next_start(opened, path: Path) -> None:
    async with opened(batteries=("hip", "chairside-knee")) as driver:
        await driver.press("o", "6", "space")
        assert f"Protocol: hip. Saved. {LATER}" in driver.words()
        assert load_preferences(path).protocol == "hip"
    async with opened(batteries=("hip",)) as driver:
        await driver.press("o", "6", "space")
        assert "There is no other protocol" in driver.words()
        await driver.press("9", "space")
        assert "by hand" in driver.words()


def handed_to_terminal(driver, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is written to the terminal besides the page, as it comes."""
    written: list[str] = []
    monkeypatch.setattr(driver.app._driver, "write", written.append)
    return written


async def test_the_note_is_copied_only_where_that_is_wanted(
    opened, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with opened() as driver:
        await at_stance(driver)
        driver.app.go_note()
        await driver.settle()
        written = handed_to_terminal(driver, monkeypatch)
        assert "copy" not in driver.text()
        await driver.press("y")
        assert not [one for one in written if "\x1b]52" in one]
        assert driver.app.controller.session.finished is None
        driver.app.go_start()
        await driver.settle()
        await driver.press("o", "8")
        assert "Every other program can read" in driver.words()
        await driver.press("space")
        assert load_preferences(path).clipboard


async def test_what_is_copied_is_the_note_as_it_would_be_written(
    open_program, monkeypatch: pytest.MonkeyPatch
) -> None:
    # In a window that is narrower than the note.
    async with open_program((60, 20), settings=Settings(clipboard=True)) as driver:
        await at_stance(driver)
        driver.app.go_note()
        await driver.settle()
        written = handed_to_terminal(driver, monkeypatch)
        assert "y  copy" in driver.text()
        await driver.press("y")
        (sent,) = [one for one in written if one.startswith("\x1b]52;c;")]
        note = b64decode(sent.removeprefix("\x1b]52;c;").removesuffix("\a")).decode()
        assert "Copied, where this terminal allows it." in driver.words()
        # As with a note that is written, the session is finished first.
        assert driver.app.controller.session.finished is not None
        await driver.press("w", "1")
        (file,) = (driver.app.controller.store.folder / "notes").iterdir()
        assert note == file.read_text("utf-8")


# What is drawn and decided, without a terminal.


@pytest.mark.parametrize("width", [58, 78])
@pytest.mark.parametrize("at", range(len(NAMES)))
def test_the_chosen_one_and_what_explains_it_fit_the_smallest_window(at: int, width: int) -> None:
    many = Preferences(protocols=("/srv/" + "knees/" * 30, *("~/clinic",) * 5))
    rows, (first, last) = draw_preferences(many, at, Path("/home/pt/.config/x.toml"), width)
    assert all(row_cells(line) <= width for line in rows)
    # 20 rows less the head, a row of keys and two rows of notice.
    assert last - first < 16
    assert plain(rows).count("> ") == 1
    assert plain([rows[at]]).startswith(f">  {at + 1} ")
    assert {span.press for span in rows[at]} == {f"{LINE}{at}"}
    if at == len(NAMES) - 1:
        assert "6 folders" in plain(rows)
        assert "- and 3 more" in plain(rows)


def test_values_are_words() -> None:
    now = Preferences(bell=False, count_in_s=5, protocols=("a",))
    words = [value_words(now, name) for name in NAMES]
    assert words == ["off", "on", "5 s", "auto", "auto", "chairside-knee", "off", "off", "1 folder"]


@pytest.mark.parametrize("mode", get_args(ColourMode))
def test_every_theme_of_the_file_is_a_look(mode) -> None:
    assert settings_for(Preferences(theme=mode), COLOURS).colour_mode == mode
    assert settings_for(Preferences(theme=mode), {"NO_COLOR": "1"}).colour_mode == "monochrome"


def test_a_change_of_one_preference_leaves_the_look_alone() -> None:
    # The wish for a look that only the next start can give is not granted by the way.
    now = Settings(colour_mode="dark", ascii_only=True)
    wished = Preferences(theme="monochrome", bell=False)
    after, later = settings_after(now, wished, "bell", COLOURS)
    assert after == Settings(colour_mode="dark", ascii_only=True, theme="monochrome", bell=False)
    assert later == ""
