"""Leaving a practice run before it is over."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screen_tui.tui.screens.ask import AskPage, Question

if TYPE_CHECKING:
    from screen_tui.tui.app import ScreenApp

LEAVE = "leave; nothing of this run is kept"


def ask_to_leave_practice(host: ScreenApp) -> None:
    """Ask first, since nothing of the run is kept."""

    def leave(answer: str | None) -> None:
        if answer is not None:
            host.go_practice("The practice run was left; nothing of it was kept.")

    question = Question(
        title="Leave the practice run",
        lead=("A practice run is kept once you have committed to an answer.",),
        answers=(LEAVE,),
        back="go on",
    )
    host.push_screen(AskPage(question), leave)
