"""What can be done when a change could not be saved."""

from __future__ import annotations

from typing import Final

from screen_tui.tui.controller import Keeper
from screen_tui.tui.screens.ask import AskPage, Question

TRY_AGAIN: Final = "try again"
LEAVE: Final = "leave, and lose what is not saved"


def save_trouble_page(keeper: Keeper, *, leaving: bool = False) -> AskPage:
    """Ask what to do; the answer is one of the two above or the path of another folder.

    Args:
        keeper: Knows what the trouble is.
        leaving: Whether the person was about to end the program.
    """
    meanwhile = (
        "Not everything is on disk. What is not is lost when the program ends."
        if leaving
        else "You can go on: everything stays in memory, and each further change tries again."
    )
    return AskPage(
        Question(
            title="NOT SAVED",
            lead=(keeper.trouble, meanwhile),
            answers=(TRY_AGAIN, LEAVE) if leaving else (TRY_AGAIN,),
            own_words="save in another folder, its path typed",
            back="go on, not saved",
        )
    )
