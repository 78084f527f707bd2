"""Small wordings that several screens share, beside those of the note."""

from __future__ import annotations

import shlex
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

from screen_tui.engine.results import DriverResult
from screen_tui.fields import Side
from screen_tui.protocol.knowledge import Source
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.report.facts import Fact
from screen_tui.session.model import Session, Trial
from screen_tui.session.store import Saved
from screen_tui.tui.drawing.rows import Row, labelled, paragraph

NOT_A_DIAGNOSIS = (
    "Not a diagnosis. It ranks findings; the decision is the licensed clinician's, "
    "under local policy."
)


def test_name(protocol: ScreenProtocol, test_id: str, side: Side | None) -> str:
    """The short name of a test with its side; the id when the protocol does not know it."""
    spec = protocol.known_test(test_id)
    return words.with_side(spec.short_name if spec else words.spaced(test_id), side)


def driver_name(protocol: ScreenProtocol, weight: DriverResult) -> str:
    """The name of a driver with its side."""
    return words.driver_on(protocol, weight.driver, weight.side)


def kept_sentence(protocol: ScreenProtocol, trial: Trial) -> str:
    """That a trial was kept, of which test and leg, and what it holds.

    The screen may show the next test by then, or the other leg.
    """
    name = test_name(protocol, trial.test, trial.side)
    if trial.void:
        return f"Void: {name}, {trial.void}."
    return f"Saved: {name}, {trial_words(protocol, trial)}."


def interrupted_sentence(protocol: ScreenProtocol, trial: Trial) -> str:
    """That the program died in a trial, and what can be done about it."""
    name = test_name(protocol, trial.test, trial.side)
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


def short_source(protocol: ScreenProtocol, source_id: str) -> str:
    """A source in a few words: first author and year, or what stands in for a source."""
    source = next((one for one in protocol.sources if one.id == source_id), None)
    return words.spaced(source_id) if source is None else _short(source)


def sourced(protocol: ScreenProtocol, fact: Fact) -> str:
    """The text of a fact, with its source in a few words where it has one."""
    if fact.source is None:
        return fact.text
    return f"{fact.text} ({short_source(protocol, fact.source)})"


def facts_rows(protocol: ScreenProtocol, facts: Iterable[Fact], width: int) -> list[Row]:
    """Facts with their sources, each behind its label where it has one."""
    rows: list[Row] = []
    for fact in facts:
        text = sourced(protocol, fact)
        rows += labelled(fact.label, text, width) if fact.label else paragraph(text, width)
    return rows


def _short(source: Source) -> str:
    if not source.authors or source.year is None:
        return source.provenance
    first = source.authors.replace(";", ",").split(",")[0].removesuffix(" et al.").strip()
    *names, last = first.split()
    initials = bool(names) and last.replace(".", "").isupper() and len(last) <= 4
    name = " ".join(names) if initials else first
    mark = "" if source.provenance == "published" else f", {source.provenance}"
    return f"{name} {source.year}{mark}"


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
    if saved.kept_beside is not None:
        said.append(
            f"{saved.kept_beside.name} was changed by another program and is left as it is; "
            f"this session is now in {saved.path.name}."
        )
    if saved.kept_original is not None:
        said.append(
            "This session came from an earlier version of the program; its file as it was is "
            f"kept as {saved.kept_original.name}."
        )
    if saved.folder_made_again:
        said.append(
            f"The folder {saved.path.parent} was gone. It was made again and holds this session; "
            "other files of it are gone."
        )
    return " ".join(said)


def moved_to(folder: Path) -> str:
    """Say where sessions are from now on, and how to find them again; short, as paths are long."""
    return (
        "All is saved in the other folder from now on. To open it later: "
        f"screen-tui --sessions {shlex.quote(str(folder))} (in the first one all is older)"
    )
