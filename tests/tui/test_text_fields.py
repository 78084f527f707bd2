"""Words are typed as in any text field: paste, moves, Unicode; what is not taken is said."""

from __future__ import annotations

import pytest
from support import small_protocol as small
from support.form_keys import NOT_ASKED
from support.hands import Driver
from textual import events

from screen_tui.session.file import load_session
from screen_tui.session.store import SessionStore
from screen_tui.tui.screens.before_testing import BeforeTestingScreen
from screen_tui.tui.screens.dialogs import AskDialog
from screen_tui.tui.screens.test import TestScreen
from screen_tui.tui.screens.visits import VisitsScreen
from screen_tui.tui.widgets import Field

TO_THE_LABEL = ("n", "1", "n", "1", "enter", "1", "enter", "1", "enter", *NOT_ASKED)
"""From Start to the first question that is answered in words."""


@pytest.fixture
def place_for_a_note(store: SessionStore) -> tuple[str, ...]:
    """The keys from Start to a line for words of one's own."""
    trial = {"test": "stance", "side": "left", "value": 6.2}
    store.save(small.session(trial, intake={"goals": ["walking"]}))
    return "1", "g", "enter", "enter", "w", "0"


def field(driver: Driver) -> Field:
    assert isinstance(driver.app.screen.field, Field)
    return driver.app.screen.field


EDITS = [
    (("left", "left", "x"), "axbc"),
    (("left", "left", "right", "x"), "abxc"),
    (("home", "x"), "xabc"),
    (("home", "right", "end", "x"), "abcx"),
    (("home", "delete"), "bc"),
    (("left", "backspace"), "ac"),
    (("home", "backspace"), "abc"),
    (("home", "left", "x"), "xabc"),
    (("right", "x"), "abcx"),
    (("space", "d", "ctrl+left", "x"), "abc xd"),
    (("space", "d", "home", "ctrl+right", "x"), "abc xd"),
    (("space", "d", "ctrl+w"), "abc "),
    (("left", "ctrl+k"), "ab"),
    (("left", "ctrl+u"), "c"),
    (("!", "k", "q", "?", "B", "1"), "abc!kq?B1"),
    (("shift+left", "x"), "abcx"),
    (("ctrl+x", "f5", "escape"), "abc"),
    (("d", "ctrl+z"), "abc"),
    (("left", "backspace", "delete", "ctrl+z", "ctrl+z", "x"), "abxc"),
    (("ctrl+u", "ctrl+z"), "abc"),
]


async def hold_edits(driver: Driver) -> None:
    """Hold what each row of keys makes of "abc" in the field that is there."""
    for keys, text in EDITS:
        await driver.press("end", "ctrl+u", "a", "b", "c", *keys)
        assert field(driver).value == text, keys


async def test_keys_in_words_of_ones_own(open_program, place_for_a_note) -> None:
    async with open_program() as driver:
        await driver.press(*place_for_a_note)
        await hold_edits(driver)
        assert isinstance(driver.app.screen, AskDialog)


async def test_keys_in_a_search(open_program) -> None:
    async with open_program() as driver:
        await driver.press("v", "/")
        await hold_edits(driver)
        assert isinstance(driver.app.screen, VisitsScreen)


async def test_a_field_is_seen_through_the_rows_of_its_page_alone(
    open_program, place_for_a_note
) -> None:
    for keys in (place_for_a_note, ("v", "/"), ("n", *TO_THE_LABEL)):
        async with open_program() as driver:
            await driver.press(*keys, "a")
            assert "a▏" in driver.text()
            assert not field(driver).is_attached
            assert not driver.app.screen.query(Field)


async def test_keys_in_a_label_before_testing(open_program, store: SessionStore) -> None:
    async with open_program() as driver:
        await driver.press("n", *TO_THE_LABEL)
        await hold_edits(driver)
        assert isinstance(driver.app.screen, BeforeTestingScreen)
        for keys, text in EDITS[:3]:
            await driver.press("end", "ctrl+u", "a", "b", "c", *keys)
            assert driver.app.screen.form.answers["label"] == text
            draft = (store.folder / "draft.toml").read_text(encoding="utf-8")
            assert f'label = "{text}"' in draft


async def test_the_cursor_is_seen_where_the_next_letter_goes(
    open_program, place_for_a_note
) -> None:
    async with open_program() as driver:
        await driver.press(*place_for_a_note, "a", "b", "left")
        assert "> a▏b" in driver.text()
    async with open_program() as driver:
        await driver.press("n", *TO_THE_LABEL, "K", "7", "home")
        assert "   ▏K7" in driver.text()


async def test_a_paste_goes_to_the_cursor(open_program, place_for_a_note) -> None:
    async with open_program() as driver:
        await driver.press(*place_for_a_note, "a", "d", "left")
        await driver.paste("bc")
        await driver.press("x")
        assert field(driver).value == "abcxd"


async def test_a_paste_before_testing_is_on_disk_and_comes_back_after_a_kill(
    open_program,
) -> None:
    async with open_program() as driver:
        await driver.press("n", *TO_THE_LABEL)
        await driver.paste("K-014")
    async with open_program() as driver:
        assert "K-014" in driver.words()
        await driver.press("1")
        assert "K-014▏" in driver.text()


async def test_a_paste_where_nothing_is_typed_does_nothing(open_program) -> None:
    async with open_program() as driver:
        await driver.press("n")
        await driver.paste("nn1")
        assert driver.app.screen.form.answers == {}


@pytest.mark.parametrize("pasted", ["so\nmuch", "so\r\nmuch\r\n", "so\tmuch", "\nso\r\rmuch"])
async def test_line_breaks_and_tabs_are_pasted_as_blanks(
    open_program, place_for_a_note, pasted: str
) -> None:
    async with open_program() as driver:
        await driver.press(*place_for_a_note)
        await driver.paste(pasted)
        assert field(driver).value == "so much"
        assert "Line breaks and tabs were pasted as blanks." in driver.words()
        await driver.press("x")
        assert "Line breaks" not in driver.words()


REFUSED = ["\u202e", "\u200b", "\x1b", "\u3164", "\x9b", "\ufe0f", "\u00ad", "\U000e0041"]


@pytest.mark.parametrize("before_testing", [False, True])
async def test_a_paste_with_a_character_no_text_may_hold_is_not_taken_and_says_so(
    open_program, place_for_a_note, before_testing: bool
) -> None:
    async with open_program() as driver:
        await driver.press(*(("n", *TO_THE_LABEL) if before_testing else place_for_a_note))
        for refused in REFUSED:
            await driver.fill("a")
            await driver.paste(f"K{refused}1")
            assert field(driver).value == "a"
            named = f"U+{ord(refused):04X}"
            assert f"Nothing was pasted. The character {named} cannot" in driver.words()
            await driver.paste("K1")
            assert field(driver).value == "aK1"
            assert "Nothing was pasted" not in driver.words()


async def test_a_character_that_cannot_be_seen_is_not_typed_and_is_named(open_program) -> None:
    for keys in (("v", "/"), ("n", *TO_THE_LABEL)):
        async with open_program() as driver:
            await driver.press(*keys)
            for refused in ("\u200b", "\u3164", "\u034f", "\ufe0f", "\u00ad", "\u200d"):
                await driver.press("end", "ctrl+u", "a", refused)
                assert f"The character U+{ord(refused):04X} cannot be seen" in driver.words()
                await driver.press("b")
                assert field(driver).value == "ab"
                assert "cannot be seen" not in driver.words()


async def test_what_is_too_long_is_not_taken_and_says_how_long_it_may_be(
    open_program, place_for_a_note
) -> None:
    async with open_program() as driver:
        for keys, most in ((place_for_a_note, 1000), (("v", "/"), 200), (("n", *TO_THE_LABEL), 40)):
            driver.app.go_start()
            await driver.settle()
            await driver.press(*keys)
            await driver.paste("n" * (most + 1))
            assert field(driver).value == ""
            said = f"At most {most} characters fit here; that would be {most + 1}."
            assert f"Nothing was pasted. {said}" in driver.words()
            await driver.paste("n" * most)
            await driver.press("n")
            assert field(driver).value == "n" * most
            assert said in driver.words()
            await driver.press("home", "delete", "x")
            assert field(driver).value == "x" + "n" * (most - 1)


@pytest.mark.parametrize(
    "text", ["漢字の膝", "A\u0308rzu", "e\u0301\u0323", "é", "\U0001f9b5", "नी"]
)
async def test_letters_of_any_script_are_typed_and_pasted(open_program, text: str) -> None:
    async with open_program() as driver:
        await driver.press("v", "/")
        await driver.type(text)
        await driver.paste(text)
        assert field(driver).value == text + text
        assert f"{text}{text}▏" in driver.text()


async def test_a_letter_and_its_marks_are_passed_and_deleted_as_one(open_program) -> None:
    async with open_program() as driver:
        await driver.press("v", "/")
        await driver.paste("ae\u0301\u0323z")
        await driver.press("left", "left", "x", "right", "y")
        assert field(driver).value == "axe\u0301\u0323yz"
        await driver.press("left", "left", "delete")
        assert field(driver).value == "axyz"


async def test_wide_letters_are_seen_whole_where_the_line_ends(open_program) -> None:
    async with open_program() as driver:
        await driver.press("v", "/")
        await driver.paste("膝" * 60)
        shown = driver.text()
        assert shown.count("膝") == 60
        assert "膝▏" in shown


async def test_the_cursor_is_in_sight_in_a_text_longer_than_the_window(
    open_program, place_for_a_note
) -> None:
    for keys, letters in ((place_for_a_note, 900), (("n", "1", *["down"] * 13), 400)):
        async with open_program() as driver:
            await driver.press(*keys)
            await driver.paste("膝" * letters)
            assert "膝▏" in driver.text()
            await driver.press("home")
            assert "▏膝" in driver.text()


@pytest.mark.parametrize(
    ("pasted", "typed"), [("67", "67"), (" 67\n", "67"), ("abc", ""), ("\u0666\u0667", "")]
)
async def test_a_number_before_testing_may_be_pasted_and_nothing_else(
    open_program, pasted: str, typed: str
) -> None:
    async with open_program() as driver:
        await driver.press("n", *TO_THE_LABEL, "K", "1", "enter")
        await driver.paste(pasted)
        assert driver.app.screen.form.answers.get("age", "") == typed
        assert ("Only a number can be typed here." in driver.words()) == (not typed)


async def test_backspace_on_an_empty_field_goes_back(open_program, place_for_a_note) -> None:
    async with open_program() as driver:
        await driver.press("v", "/", "a", "backspace", "backspace")
        assert driver.app.screen.field is None
        await driver.press("b", *place_for_a_note, "a", "backspace")
        assert field(driver).value == ""
        await driver.press("backspace")
        assert isinstance(driver.app.screen, AskDialog)
        assert driver.app.screen.field is None


async def test_the_cursor_moves_within_an_answer_and_up_and_down_between_them(
    open_program,
) -> None:
    async with open_program() as driver:
        await driver.press("n", *TO_THE_LABEL, "K", "1", "down", "6", "7", "left", "5", "up")
        form = driver.app.screen.form
        assert (form.at, form.answers["age"]) == ("label", "657")
        await driver.press("x")
        assert driver.app.screen.form.answers["label"] == "K1x"


async def test_a_key_that_opens_a_field_and_what_is_typed_and_pasted_behind_it(
    open_program, answered, store: SessionStore
) -> None:
    async with open_program() as driver:
        await answered(driver)
        assert isinstance(driver.app.screen, TestScreen)
        await driver.press("5", "enter", "v")
        driver.pass_time(5.0)
        t = driver.clock.monotonic()
        driver.post("m", t)
        for at, key in enumerate("he k!", start=1):
            driver.post("space" if key == " " else key, t + at / 100)
        pasted = events.Paste("[pasted]")
        pasted.time = t + 0.2
        driver.app.post_message(pasted)
        for at, key in enumerate(("left", "x", "enter")):
            driver.post(key, t + 0.3 + at / 100)
        await driver.settle()
    (path,) = store.folder.glob("*.toml")
    assert "he k![pastedx]" in [trial.note for trial in load_session(path).trials]
