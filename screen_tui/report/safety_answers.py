"""What each safety question was answered, as far as a session can tell."""

from __future__ import annotations

from typing import Literal

from screen_tui.session.model import Session


def went_on(session: Session) -> bool:
    """Whether the screen went on after the questions; it does so only when all were answered."""
    return bool(session.trials or session.skipped or session.finished or session.stopped)


def safety_answer(session: Session, caution_id: str) -> Literal["yes", "denied", "not recorded"]:
    """Say yes, denied or not recorded.

    The program asks all the questions before it goes on, so a session that went on has heard a no
    to each that is not listed; one that did not go on may have been left half-way through them.
    """
    if caution_id in session.intake.cautions:
        return "yes"
    return "denied" if went_on(session) else "not recorded"
