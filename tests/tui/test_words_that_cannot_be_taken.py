"""Words and names the program cannot do anything with: a sentence, and the screen stays."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from support import small_protocol as small

from screen_tui.cli import main as cli
from screen_tui.files.places import preferences_file
from screen_tui.preferences import Opened, Preferred
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.file import load_session
from screen_tui.session.store import SessionStore
from screen_tui.tui import run
from screen_tui.tui.app import ScreenApp
from screen_tui.tui.screens.note import NoteScreen

STANCE = {"test": "stance", "side": "left", "value": 6.2}


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("~nobody-of-this-name/note.txt", "names nobody on this computer"),
        ("{}/" + "\U0001f9b5" * 64, os.strerror(errno.ENAMETOOLONG)),
        ("{}", "is left as it is"),
    ],
)
async def test_a_place_for_the_note_that_cannot_be_is_refused(
    open_program, store: SessionStore, tmp_path: Path, typed: str, told: str
) -> None:
    store.save(small.session(STANCE, intake={"goals": ["walking"]}))
    async with open_program((80, 24)) as driver:
        await driver.press("1", "g", "enter", "enter", "w", "0")
        await driver.fill(typed.format(tmp_path))
        await driver.press("enter")
        assert isinstance(driver.app.screen, NoteScreen)
        assert told in driver.words()


async def test_a_trial_whose_note_is_full_is_not_counted_again_without_its_story(
    open_program, store: SessionStore
) -> None:
    full = {**STANCE, "note": "n" * 390, "void": "somebody walked in"}
    session = small.session(full, intake={"goals": ["walking"]})
    store.save(session)
    async with open_program((80, 24)) as driver:
        await driver.press("1", "l", "x")
        assert "at most 400 characters" in driver.words()
        (kept,) = load_session(store.path_of(session.id)).trials
        assert (kept.void, kept.note) == (full["void"], full["note"])


@pytest.mark.parametrize("line", [["--sessions", "~nobody-of-this-name/s", "paths"], ["paths"]])
def test_the_home_of_nobody_is_not_found(
    line: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    if len(line) == 1:
        monkeypatch.setenv("SCREEN_TUI_HOME", "~nobody-of-this-name")
    assert cli.main(line) == 4
    assert "names nobody on this computer" in capsys.readouterr().err


def test_what_is_said_after_a_crash_cannot_steer_the_terminal(
    knee: ScreenProtocol,
    store: SessionStore,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def crash(app: ScreenApp) -> None:
        app.crash_sentence = "A report is in /stick/\x1b[2J."

    monkeypatch.setattr(ScreenApp, "run", crash)
    assert run.run_app(Opened(knee, store, Preferred(preferences_file())), environ={}) == 1
    assert capsys.readouterr().err == "A report is in /stick/?[2J.\n"
