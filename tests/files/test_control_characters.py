"""Which characters are refused, over all that Unicode has."""

from __future__ import annotations

import sys
import unicodedata

from screen_tui.text import first_control_character, with_control_characters_as

TURN_TEXT = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
CHANGE_OR_HIDE = {
    *range(0x206A, 0x2070),
    *range(0xFFF9, 0xFFFC),
    0xE0001,
    *range(0xE0020, 0xE0080),
}


def is_refused(code: int) -> bool:
    """By category: controls, surrogates, line and paragraph ends; and by name what else steers.

    The Unicode Standard, chapter 23, special areas and format characters (from memory).
    """
    return (
        unicodedata.category(chr(code)) in {"Cc", "Cs", "Zl", "Zp"}
        or chr(code) in TURN_TEXT
        or code in CHANGE_OR_HIDE
    )


def test_exactly_what_steers_or_hides_is_refused_of_all_characters() -> None:
    for code in range(sys.maxunicode + 1):
        named = f"U+{code:04X}" if is_refused(code) else None
        assert first_control_character(chr(code)) == named


def test_the_first_of_several_is_named_wherever_it_is() -> None:
    assert first_control_character("") is None
    assert first_control_character("e\u0301 \u200d \U0001f9b5 \u65e5\u672c") is None
    assert first_control_character("x" * 400 + "\u2028\x07") == "U+2028"


def test_each_of_them_is_exchanged_for_its_mark() -> None:
    assert with_control_characters_as("<{}>".format, "a\x1b[2J\u202eb") == "a<U+001B>[2J<U+202E>b"
