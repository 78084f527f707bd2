"""The look of the first page is known before the preferences are read in full."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from screen_tui.preferences import Preferences, load_preferences
from screen_tui.preferences_kinds import LAYOUTS, THEME_WISHES
from screen_tui.tui.first_look import first_look
from screen_tui.tui.settings import Settings, settings_once_read

USUAL = ("auto", "auto")


@pytest.mark.parametrize("theme", THEME_WISHES)
@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_it_is_what_the_file_says_when_it_is_read_in_full(
    tmp_path: Path, theme: str, layout: str, mark: str
) -> None:
    path = tmp_path / "preferences.toml"
    path.write_text(f'{mark}layout = "{layout}"\ntheme = "{theme}"\n', encoding="utf-8")
    now = load_preferences(path)
    assert first_look(path) == (now.theme, now.layout) == (theme, layout)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b'theme = "pink"\nlayout = 3\n',
        b"theme = [1]\nlayout = {a = 1}\n",
        b'theme = "dark',
        b"\xff\xfe\x00",
        b"a = " + b"[" * 5000,
        b'theme = "dark"\n' + b"#" * 200_000,
    ],
)
def test_what_makes_no_sense_is_passed_over(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "preferences.toml"
    path.write_bytes(content)
    assert first_look(path) == USUAL


def test_where_there_is_no_file_the_usual_holds(tmp_path: Path) -> None:
    assert first_look(tmp_path / "none.toml") == USUAL
    assert first_look(tmp_path) == USUAL


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no such files here")
def test_a_file_that_never_ends_is_not_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "preferences.toml")
    assert first_look(tmp_path / "preferences.toml") == USUAL


@pytest.mark.parametrize(
    ("first", "theme", "then"),
    [
        ("dark", "light", "light"),
        ("light", "auto", "dark"),
        ("monochrome", "dark", "monochrome"),
        ("dark", "monochrome", "dark"),
    ],
)
def test_colours_follow_what_is_read_where_they_can_still_be_changed(first, theme, then) -> None:
    now = settings_once_read(
        Settings(colour_mode=first, ascii_only=True),
        Preferences(theme=theme, bell=False),
        {"TERM": "xterm-256color"},
    )
    assert now == Settings(colour_mode=then, ascii_only=True, bell=False)
