"""Folding to printable ASCII and breaking into lines."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screen_tui.report.text import WIDTH, TextWriter, characters_lost, fold, labelled, wrap


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
    lines = wrap(text, indent=4, hang=2)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(len(line) <= WIDTH and line == line.rstrip() for line in lines)


def test_lines_that_follow_hang_under_their_label() -> None:
    lines = labelled("Dose", "word " * 30, indent=2)
    assert lines[0].startswith("  Dose: word")
    assert len(lines) > 1
    assert all(line.startswith("    word") for line in lines[1:])


@pytest.mark.parametrize("empty", ["", "  ", "\u200b"])
def test_an_empty_value_says_not_recorded(empty: str) -> None:
    sheet = TextWriter()
    sheet.item("Goals", empty)
    assert str(sheet) == "Goals: not recorded\n"


def test_blocks_stand_one_blank_line_apart_and_the_text_ends_once() -> None:
    sheet = TextWriter()
    sheet.heading("Plan")
    sheet.text("Nothing.")
    sheet.blank()
    sheet.blank()
    sheet.heading("Signature")
    sheet.blank()
    assert str(sheet) == "PLAN\nNothing.\n\nSIGNATURE\n"


def test_drawn_lines_keep_their_blanks_and_are_folded_and_cut() -> None:
    sheet = TextWriter()
    sheet.drawn(["a  b \u2265 2  ", "", "x" * 80], indent=2)
    assert str(sheet) == f"  a  b >= 2\n\n  {'x' * 70}\n"
