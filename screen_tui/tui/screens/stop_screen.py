"""Stopping the whole screen for safety."""

from __future__ import annotations

from screen_tui.protocol.model import Protocol
from screen_tui.tui.screens.ask import AskPage, Question

_MOST_AT_DIGITS = 9


class StopScreenPage(AskPage):
    """Asks why; asking once is enough."""

    STOPPABLE = False


def stop_screen_page(protocol: Protocol) -> StopScreenPage:
    """Ask why the screen is stopped; the answers are the protocol's rules for stopping."""
    return StopScreenPage(
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
