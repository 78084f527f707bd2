"""Which cue a test is repeated with."""

from __future__ import annotations

from screen_tui.protocol.tests import TestSpec
from screen_tui.tui.screens.ask import AskDialog, Question


def repeat_with_cue_page(spec: TestSpec) -> AskDialog:
    """Ask for the cue; the answer is what is said."""
    return AskDialog(
        Question(
            title="Repeat with a cue",
            lead=(f"{spec.name}: say one thing, then test again. Which?",),
            answers=tuple(cue.say for cue in spec.cues),
            back="back, no repeat",
        )
    )


def cue_of_answer(spec: TestSpec, answer: str) -> str:
    """The id of the cue that says this."""
    return next(cue.id for cue in spec.cues if cue.say == answer)
