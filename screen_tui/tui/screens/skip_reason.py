"""Why a test is not done."""

from __future__ import annotations

from screen_tui.session.model import SKIP_REASONS
from screen_tui.tui.screens.ask import AskDialog, Question


def skip_reason_page(test_name: str) -> AskDialog:
    """Ask why; the answer stands in the note."""
    return AskDialog(
        Question(
            title="Skip this test",
            lead=(f"{test_name}: why is it not done? The reason stands in the note.",),
            answers=SKIP_REASONS,
            own_words="another reason, typed",
            back="back, not skipped",
        )
    )
