"""What becomes of a trial that is not kept yet when its screen is left."""

from __future__ import annotations

from screen_tui.tui.screens.ask import AskDialog, Question

KEEP = "keep it, then go on"
STRIKE = "strike it out, then go on"
FORGET = "leave it; no trial was done"


def leave_trial_page(test_name: str, *, ended: bool) -> AskDialog:
    """Ask; going back changes nothing.

    Args:
        test_name: The test and its leg.
        ended: Whether there is a trial that can be kept, not only something prepared.
    """
    return AskDialog(
        Question(
            title="Not kept yet",
            lead=(f"{test_name}: what was done is not in the session so far.",),
            answers=(KEEP, STRIKE) if ended else (FORGET,),
            back="stay here",
        )
    )
