"""What can be done when a change could not be saved."""

from __future__ import annotations

from screen_tui.tui.controller import Keeper
from screen_tui.tui.screens.ask import AskPage, Question


def save_trouble_page(keeper: Keeper) -> AskPage:
    """Ask what to do; the answer is ``try again`` or the path of another folder."""
    return AskPage(
        Question(
            title="NOT SAVED",
            lead=(
                keeper.trouble,
                "You can go on: everything stays in memory, and each further change tries again.",
            ),
            answers=("try again",),
            own_words="save in another folder, its path typed",
            back="go on, not saved",
        )
    )
