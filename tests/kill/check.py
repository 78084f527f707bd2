"""Whether the folder holds all that the screen had promised when the program was ended."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

from kill.ledger import Ledger, Promised, as_words
from kill.look import HAVE_ENDED, ShownTrial
from kill.script import LATER

from screen_tui.engine.assess import assess
from screen_tui.errors import ScreenError
from screen_tui.fields import SetUpId
from screen_tui.files.toml import read_own
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.note import write_note
from screen_tui.report.words import short_on
from screen_tui.session.draft import Draft, draft_in
from screen_tui.session.file import load_session
from screen_tui.session.folder import is_draft
from screen_tui.session.model import Session, Trial
from screen_tui.trial.record import BEFORE_SAVED, UNCONFIRMED, WHILE_IT_RAN
from screen_tui.trial.set_up import in_short
from screen_tui.tui.drawing.words import kept_sentence

ENDED_IN_ORDER = "the program was ended"
"""Why a trial is struck out that ran when the program was asked to end."""

_ADDED = re.compile(rf"(; |^){LATER}\d+$")

Kind = Literal["lost", "unreadable", "wrong"]


@dataclass(frozen=True)
class Fault:
    """Something that is not as it was promised.

    Attributes:
        kind: ``lost`` is missing from the files, ``unreadable`` a file that cannot be read,
            ``wrong`` anything else.
        what: What, in words.
    """

    kind: Kind
    what: str


@dataclass
class Folder:
    """The folder of sessions as it was left.

    Attributes:
        sessions: Those that can be read.
        drafts: Answers that can be read.
        notes: What the written notes hold, by the id of their session.
        cut_short: How many temporary files were left by a write that was cut short.
        faults: Files that cannot be read.
    """

    sessions: list[Session]
    drafts: list[Draft]
    notes: dict[str, str]
    cut_short: int
    faults: list[Fault]


def read_folder(folder: Path) -> Folder:
    """Read all of it."""
    found = Folder([], [], {}, 0, [])
    for path in sorted(folder.rglob("*")) if folder.exists() else ():
        found.cut_short += path.suffix == ".tmp"
        if path.suffix == ".txt":
            found.notes[path.stem] = path.read_text(encoding="ascii")
        if path.suffix != ".toml":
            continue
        try:
            if is_draft(path):
                found.drafts.append(draft_in(read_own(path)))
            else:
                found.sessions.append(load_session(path))
        except (ScreenError, OSError, UnicodeError) as error:
            found.faults.append(Fault("unreadable", f"{path.name}: {error}"))
    return found


def faults_of(ledger: Ledger, folder: Folder, *, in_order: bool) -> list[Fault]:
    """Say what is not as it was promised.

    Args:
        ledger: What the screen said.
        folder: What was left.
        in_order: The program could do the last things before it ended, as after SIGTERM.
    """
    faults = list(folder.faults)
    if len(folder.sessions) > 1:
        faults.append(Fault("wrong", "more than one session file"))
    session = folder.sessions[-1] if folder.sessions else None
    if ledger.form is not None:
        faults += _answers(ledger, folder, session)
    if session is None:
        if ledger.shown is not None or ledger.trials or ledger.skips:
            faults.append(Fault("lost", "the session: there is no file of it"))
        return faults
    faults += _trials(ledger, session)
    faults += _skips(ledger, session)
    faults += _set_up(ledger, session)
    if ledger.shown is not None:
        faults += _of_shown(ledger, ledger.shown, session, in_order=in_order)
    if ledger.finished and session.finished is None:
        faults.append(Fault("lost", "that the screen is finished"))
    return faults + _note(ledger, folder, session)


def _answers(ledger: Ledger, folder: Folder, session: Session | None) -> list[Fault]:
    """The answers are in a draft or, once they are complete, in the session."""
    assert ledger.form is not None
    may_be = ledger.form.forms[max(ledger.form.shown, 0) :]
    if session is not None:
        done = [form.result() for form in may_be if form.done]
        kept = (session.client, session.intake)
        return [] if not done or kept in done else [Fault("lost", "answers, from the session")]
    if not may_be[0].begun and not folder.drafts:
        return []
    if any(
        (form.to_save, form.at, {*form.accepted}) == (draft.answers, draft.at, {*draft.accepted})
        for draft in folder.drafts
        for form in may_be
    ):
        return []
    return [Fault("lost", f"answers: {len(may_be[0].answers)} were shown, up to {may_be[0].at}")]


def _trials(ledger: Ledger, session: Session) -> list[Fault]:
    faults = [
        Fault("lost", f"trial {at}, {promised.sentence}")
        for at, promised in enumerate(ledger.trials, start=1)
        if at > len(session.trials)
        or not _is_as_told(session.trials[at - 1], promised, ledger.protocol)
    ]
    # One may have been written and not been shown yet.
    if len(session.trials) > len(ledger.trials) + 1:
        faults.append(Fault("wrong", "trials in the file that the screen did not tell of"))
    return faults


def _is_as_told(trial: Trial, promised: Promised, protocol: ScreenProtocol) -> bool:
    """Whether a trial is the one that was shown, with what was said of it later."""
    if promised.void and trial.void != promised.void:
        return False
    if not all(words in trial.note for words in promised.notes):
        return False
    # A change that was written and not shown yet is no loss.
    may_be = [
        trial.model_copy(update={"note": note, "void": void})
        for note in _earlier(trial.note)
        for void in {trial.void, ""}
    ]
    return promised.sentence in {as_words(kept_sentence(protocol, one)) for one in may_be}


def _earlier(note: str) -> list[str]:
    """A note, and what it was before words were added to it in the list of trials."""
    found = [note]
    while added := _ADDED.search(found[-1]):
        found.append(found[-1][: added.start()])
    return found


def _skips(ledger: Ledger, session: Session) -> list[Fault]:
    there = [
        f"{short_on(ledger.protocol, skip.test, skip.side)}, {skip.reason}"
        for skip in session.skipped
    ]
    return [Fault("lost", f"skip of {said}") for said in ledger.skips if said not in there]


def _set_up(ledger: Ledger, session: Session) -> list[Fault]:
    trials = (*session.trials, *([session.under_way] if session.under_way else []))
    there = {in_short({name: value}) for name, value in session.set_up_said.items()}
    there |= {
        in_short({name: value})
        for trial in trials
        for name in get_args(SetUpId)
        if (value := trial.set_up(name)) is not None
    }
    said = {*ledger.set_up.split(", ")} - {"", "all as usual"}
    return [Fault("lost", f"set-up: {one}") for one in sorted(said - there)]


def _of_shown(
    ledger: Ledger, shown: ShownTrial, session: Session, *, in_order: bool
) -> list[Fault]:
    """A trial that was on the screen is under way in the file, or was kept in the last moment."""
    faults = []
    if in_order and session.under_way is not None:
        faults.append(Fault("wrong", "a trial is under way though the program ended in order"))
    if not shown.begun or len(ledger.trials) > ledger.kept_before:
        return faults
    may_be = list(session.trials[len(ledger.trials) :])
    if session.under_way is not None:
        may_be.append(session.under_way)
    if not any(_is_same(shown, trial, in_order=in_order) for trial in may_be):
        said = [one.model_dump(exclude_defaults=True) for one in may_be]
        faults.append(Fault("lost", f"the trial on the screen: {shown}, the file has {said}"))
    return faults


def _is_same(shown: ShownTrial, trial: Trial, *, in_order: bool) -> bool:
    same = (trial.test, trial.side) == (shown.test, shown.side)
    seen = shown.signs <= {*trial.signs} and shown.pain in (None, trial.pain)
    numbers = {"Passive": trial.passive_deg, "Active": trial.active_deg}
    typed = all(
        numbers[name] is not None and f"{numbers[name]:g}".startswith(digits)
        for name, digits in shown.typed
    )
    if not (same and seen and typed and shown.note in trial.note):
        return False
    if trial.void in (WHILE_IT_RAN, BEFORE_SAVED, UNCONFIRMED):
        if in_order:
            return False
        return shown.state not in HAVE_ENDED or trial.void == BEFORE_SAVED
    return True


def _note(ledger: Ledger, folder: Folder, session: Session) -> list[Fault]:
    """A note that was written is there, and any that is there is whole."""
    written = folder.notes.get(session.id)
    if written is None:
        return [Fault("lost", "the note that was written")] if ledger.written else []
    whole = write_note(ledger.protocol, session, assess(ledger.protocol, session), session.started)
    same = (written[:16], written[-40:]) == (whole[:16], whole[-40:])
    return [] if same and written.count("\n") > 20 else [Fault("unreadable", "a note cut short")]
