"""Folding to printable ASCII and breaking into lines."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screen_tui.report.text import characters_lost, fold, wrapped


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("110\u00b0", "110 deg"),
        ("110 \u00b0", "110 deg"),
        ("5\u201310 s \u2014 slow", "5-10 s - slow"),
        ("\u201cit\u2019s sore\u201d", '"it\'s sore"'),
        ("\u2265 10, \u2264 3, \u00b1 1", ">= 10, <= 3, +/- 1"),
        ("g\u00eanant, M\u00fche, \u0141ukasz", "genant, Muhe, Lukasz"),
        ("Stra\u00dfe", "Strasse"),
        ("a\u00a0b\u2003c", "a b c"),
        ("a\u200bb", "ab"),
        ("\uff21\ufb01", "Afi"),
        ("m\u00b2", "m2"),
        ("\u819d \U0001f9b5", "? ?"),
        ("plain ~ text?", "plain ~ text?"),
    ],
)
def test_what_has_a_plain_spelling_gets_it_and_the_rest_a_question_mark(
    text: str, plain: str
) -> None:
    assert fold(text) == plain


def test_only_characters_without_a_spelling_count_as_lost() -> None:
    assert characters_lost("g\u00eanant? 110\u00b0") == 0
    assert characters_lost("\u819d? \U0001f9b5") == 2


@given(st.text())
def test_any_text_folds_to_printable_ascii_and_folds_only_once(text: str) -> None:
    plain = fold(text)
    assert all(" " <= character <= "~" for character in plain)
    assert fold(plain) == plain


@given(st.text(alphabet=st.characters(min_codepoint=32, max_codepoint=126), max_size=600))
def test_wrapping_loses_no_visible_character_and_keeps_the_width(text: str) -> None:
    lines = wrapped(text, 40)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(len(line) <= 40 and line == line.rstrip() for line in lines)


def test_a_word_wider_than_a_line_is_cut_and_a_wide_letter_takes_two_columns() -> None:
    assert wrapped("abcdef gh", 4) == ["abcd", "ef", "gh"]
    assert wrapped("\u819d\u819d\u819d", 4) == ["\u819d\u819d", "\u819d"]
