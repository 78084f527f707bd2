"""Whatever was typed, the note is text that any record system takes."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from support.hostile import as_label, possible_letters
from support.note_case import WRITTEN, note_assessment, note_protocol, note_session
from support.thorough import examples

from screen_tui.report.note import write_note

words = st.text(possible_letters(), min_size=1, max_size=40)


@settings(max_examples=examples(60))
@given(words.map(as_label), words, words, words, st.floats(0, 3600), st.integers(5, 110))
def test_whatever_was_typed_the_note_is_plain(
    label: str, said: str, ended: str, reason: str, value: float, age: int
) -> None:
    long = (said * 400)[:400]
    session = note_session(
        client={"label": label, "age": age},
        intake={"note": long},
        stopped=reason,
        trials=[
            {
                "test": "stance",
                "side": "left",
                "value": value,
                "ended": ended,
                "void": reason,
                "note": long,
            }
        ],
        skipped=[{"test": "rises", "reason": long}],
    )
    text = write_note(note_protocol(), session, note_assessment(), WRITTEN)
    assert all(character == "\n" or " " <= character <= "~" for character in text)
    lines = text.split("\n")
    assert max(len(line) for line in lines) <= 72
    assert all(line == line.rstrip() for line in lines)
    assert text.endswith("\n")
    assert not text.endswith("\n\n")
