"""Which characters no text may hold: what steers, reorders or hides, and nothing that is seen."""

from __future__ import annotations

import sys
import unicodedata

import pytest

from screen_tui.files.text import first_control_character, harmless, with_control_characters_as

EVERY = tuple(map(chr, range(sys.maxunicode + 1)))

SEEN_THOUGH_FORMAT = frozenset(
    map(chr, [*range(0x600, 0x606), 0x6DD, 0x70F, 0x890, 0x891, 0x8E2, 0x110BD, 0x110CD])
)
"""Arabic and Kaithi signs that enclose or precede numbers: drawn, though of category Cf.

Prepended_Concatenation_Mark of the Unicode Character Database, PropList.txt, version 14."""

NOT_SEEN_THOUGH_LETTERS = (
    *"\u034f\u115f\u1160\u17b4\u17b5\u180b\u180c\u180d\u180f\u3164\uffa0",
    *map(chr, range(0xFE00, 0xFE10)),
    *map(chr, range(0xE0100, 0xE01F0)),
)
"""Marks and letters without a picture: Default_Ignorable_Code_Point of the Unicode Character
Database, DerivedCoreProperties.txt, version 14, as far as assigned and not of category Cf."""


def test_controls_halves_of_characters_and_further_breaks_are_refused() -> None:
    steering = [one for one in EVERY if unicodedata.category(one) in {"Cc", "Cs", "Zl", "Zp"}]
    assert len(steering) == 65 + 2048 + 2
    assert [one for one in steering if first_control_character(one) is None] == []


def test_of_format_characters_only_those_are_let_pass_that_are_seen_or_shape_hieroglyphs() -> None:
    passed = {
        one
        for one in EVERY
        if unicodedata.category(one) == "Cf" and first_control_character(one) is None
    }
    hieroglyphs = {one for one in passed if 0x13430 <= ord(one) <= 0x1345F}
    assert passed - hieroglyphs == SEEN_THOUGH_FORMAT


@pytest.mark.parametrize("character", NOT_SEEN_THOUGH_LETTERS, ids=ascii)
def test_a_letter_or_mark_without_a_picture_is_refused_and_named(character: str) -> None:
    assert first_control_character(f"a{character}b") == f"U+{ord(character):04X}"
    assert harmless(f"a{character}b") == "a?b"


def test_no_letter_mark_digit_or_sign_that_is_seen_is_refused() -> None:
    hidden = set(NOT_SEEN_THOUGH_LETTERS)
    refused = {
        one
        for one in EVERY
        if unicodedata.category(one)[0] in "LMNPS" and first_control_character(one)
    }
    assert refused == hidden


@pytest.mark.parametrize(
    "text",
    ["Mu\u0308ller", "m\u00fcde", "\u0627\u0644\u0631\u0643\u0628\u0629", "\u819d", "\U0001f9b5"],
)
def test_words_in_any_script_pass(text: str) -> None:
    assert first_control_character(text) is None
    assert harmless(text) == text


def test_the_first_of_several_is_named_wherever_it_is() -> None:
    assert first_control_character("") is None
    assert first_control_character("x" * 400 + "\u2028\x07") == "U+2028"


def test_each_of_them_is_exchanged_for_its_mark() -> None:
    assert with_control_characters_as("<{}>".format, "a\x1b[2J\u202eb") == "a<U+001B>[2J<U+202E>b"
