"""What can be done when a change could not be saved, and when the program is left unfinished."""

from __future__ import annotations

from typing import Final

from textual.await_complete import AwaitComplete

from screen_tui.tui.screens.ask import MOST_OF_A_PATH, AskDialog, Question

TRY_AGAIN: Final = "try again"
_LOSE: Final = "leave, and lose what is not saved"
_STRIKE_OUT: Final = "leave; the trial is struck out"
LEAVING: Final = (_LOSE, _STRIKE_OUT)
"""The answers that end the program."""

_TITLE = "NOT SAVED"
_ELSEWHERE = "save in another folder, its path typed"


class TroubleDialog(AskDialog):
    """Asks for the program, whatever page it lies on: the answer goes to the app."""

    def dismiss(self, result: str | None = None) -> AwaitComplete:
        """Go, and have the app do at once what was answered."""
        if not self.is_active:
            return AwaitComplete()
        going = super().dismiss(result)
        self.host.answer_trouble(result)
        return going


def trouble_page(trouble: str) -> TroubleDialog:
    """Ask what to do; the answer is to try again, or the path of another folder.

    Args:
        trouble: Why the last change is not on disk.
    """
    meanwhile = "You can go on: everything stays in memory, and each further change tries again."
    return TroubleDialog(
        Question(
            _TITLE,
            (trouble, meanwhile),
            (TRY_AGAIN,),
            _ELSEWHERE,
            "go on, not saved",
            MOST_OF_A_PATH,
        )
    )


class LeaveDialog(TroubleDialog):
    """Asks before the program is left."""


def leave_page(trial: str, trouble: str) -> LeaveDialog:
    """Ask whether to leave; the answer is one of `LEAVING`, or as for `trouble_page`.

    Args:
        trial: The test whose trial is not kept yet; "" for none.
        trouble: Why the last change is not on disk; "" when it is.
    """
    lead = [f"{trial}: this trial is not kept yet. Leaving strikes it out."] if trial else []
    if trouble:
        lead += [trouble, "Not everything is on disk. What is not is lost when the program ends."]
    lead.append("Ctrl-C or Ctrl-Q again leaves.")
    if trouble:
        answers = (TRY_AGAIN, _LOSE)
        return LeaveDialog(
            Question(_TITLE, tuple(lead), answers, _ELSEWHERE, "go on, not saved", MOST_OF_A_PATH)
        )
    return LeaveDialog(
        Question("Leave the program", tuple(lead), (_STRIKE_OUT,), back="go on with the trial")
    )
