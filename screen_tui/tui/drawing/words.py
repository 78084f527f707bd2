"""Small wordings that several screens share, beside those of the note."""

from __future__ import annotations

import shlex
from datetime import datetime
from pathlib import Path

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.session.folder import is_draft
from screen_tui.session.model import Session, Trial
from screen_tui.session.store import Saved

SAVED = "Saved: "
"""Begins what is shown once a trial was saved."""


def kept_sentence(protocol: ScreenProtocol, trial: Trial) -> str:
    """That a trial was saved, of which test and leg, and what it holds.

    The screen may show the next test by then, or the other leg.
    """
    name = words.short_on(protocol, trial.test, trial.side)
    if trial.void:
        return f"Void: {name}, {trial.void}."
    return f"{SAVED}{name}, {trial_words(protocol, trial)}."


def interrupted_sentence(protocol: ScreenProtocol, trial: Trial) -> str:
    """That the program died in a trial, and what can be done about it."""
    name = words.short_on(protocol, trial.test, trial.side)
    had = (
        "" if trial.value is None else f" at {words.trial_value(protocol.test(trial.test), trial)}"
    )
    why = trial.void.removeprefix("interrupted: ")
    note = f" ({trial.note})" if trial.note else ""
    return (
        f"{name} was interrupted{had}: {why}{note}. It is void; repeat it, "
        "or l lists it to be counted."
    )


def trial_words(protocol: ScreenProtocol, trial: Trial) -> str:
    """What a trial holds, in one line."""
    parts = [
        f"VOID ({trial.void})" if trial.void else "",
        trial.direction or "",
        f"with the cue {words.spaced(trial.cue)}" if trial.cue else "",
        words.trial_value(protocol.known_test(trial.test), trial),
        words.correction_words(trial),
        trial.note,
        *(words.marked_words(protocol, trial, sign) for sign in trial.signs),
        "" if trial.pain is None else f"pain {trial.pain}",
    ]
    return ", ".join(part for part in parts if part) or "no sign seen"


def moment(when: datetime) -> str:
    """A date and time, as the clock on the wall showed it."""
    return f"{when:%Y-%m-%d %H:%M}"


def minutes(amount: float) -> str:
    """Minutes, to a tenth where they are not whole."""
    return f"{round(amount, 1):g} min"


def how_shown(session: Session, *, read_only: bool) -> str:
    """Say of a session that it is nobody's, and that nothing of it can change."""
    marks = ["INVENTED"] if session.synthetic else []
    return ", ".join([*marks, "read-only"] if read_only else marks)


def what_became(saved: Saved) -> str:
    """Say what was out of the ordinary; empty when nothing was."""
    said = []
    answers = is_draft(saved.path)
    what, are = ("these answers", "are") if answers else ("this session", "is")
    if saved.kept_beside is not None:
        said.append(
            f"{saved.kept_beside.name} was changed by another program and is left as it is; "
            f"{what} {are} now in {saved.path.name}."
        )
    if saved.kept_original is not None and answers:
        said.append(f"Answers that could not be used are now in {saved.kept_original.name}.")
    elif saved.kept_original is not None:
        said.append(
            "This session came from an earlier version of the program; its file as it was is "
            f"now {saved.kept_original.name}."
        )
    if saved.folder_made_again:
        said.append(
            f"The folder {saved.path.parent} was gone. It was made again and holds {what}; "
            "other files of it are gone."
        )
    return " ".join(said)


def moved_to(folder: Path) -> str:
    """Say where sessions are from now on, and how to find them again; short, as paths are long."""
    return (
        "All is saved in the other folder from now on. To open it later: "
        f"screen-tui --sessions {shlex.quote(str(folder))} (in the first one all is older)"
    )
