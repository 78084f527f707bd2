"""Stopping the whole screen for safety."""

from __future__ import annotations

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.tui.screens.ask import AskDialog, Question

_MOST_AT_DIGITS = 9


class StopDialog(AskDialog):
    """Asks why; asking once is enough."""

    STOPPABLE = False


def stop_screen_page(protocol: ScreenProtocol) -> StopDialog:
    """Ask why the screen is stopped; the answers are the protocol's rules for stopping."""
    return StopDialog(
        Question(
            title="STOP THE SCREEN",
            lead=(
                "First look after the person: sit them down, stay with them, follow the local "
                "emergency procedure if it is needed.",
                "Why is the screen stopped? What was done so far is kept and goes into the note.",
            ),
            answers=tuple(rule.text for rule in protocol.stop_rules[:_MOST_AT_DIGITS]),
            own_words="another reason, typed",
            back="go on, not stopped",
        )
    )
