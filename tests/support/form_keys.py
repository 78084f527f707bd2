"""Answering the questions before testing key by key, without a screen."""

from __future__ import annotations

from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import TYPED, characters, longest
from screen_tui.trial.keymap import typed_character

NOT_ASKED = ["enter"] * 3
"""Pain now, pain at its worst and alone at home, each left open, where there is no history."""

LEFT_AND_SAFE = ["1", "0", "0"]
"""The left knee, and no to every safety question; twice, for where their lines fill two pages."""

SHIPPED_NOT_ASKED = [*NOT_ASKED, *["enter"] * 10]
"""The same with the history that comes with the program."""


def pressed(form: IntakeForm, key: str, character: str | None) -> IntakeForm:
    """The form after a key, where what is typed goes behind what is there."""
    question = form.current
    typed = typed_character(key, character)
    if question.kind not in TYPED or not (typed or (form.text and key == "backspace")):
        return form.key(key, character)
    if not typed:
        return form.with_text(form.text[:-1])
    allowed = characters(question)
    fits = len(form.text) < longest(question) and (not allowed or typed in allowed)
    return form.with_text(form.text + typed) if fits else form
