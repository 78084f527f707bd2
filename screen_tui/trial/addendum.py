"""What may be added to a finished screen, from what was typed."""

from __future__ import annotations

from datetime import datetime

from pydantic import ValidationError

from screen_tui.engine.observe import contradiction
from screen_tui.errors import EntryRefusedError
from screen_tui.files.reasons import in_plain_words
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Addendum, Session, Trial
from screen_tui.trial.numbers import Entry
from screen_tui.trial.record import corrected, why_no_other_value


def trial_at(session: Session, place: int) -> Trial:
    """The trial of a place, counted from 1 over all trials, as addenda made so far amend it.

    Raises:
        EntryRefusedError: There is none.
    """
    trials = session.as_amended.trials
    if not 1 <= place <= len(trials):
        raise EntryRefusedError(f"There is no trial {place}: the session has {len(trials)}.")
    return trials[place - 1]


def corrected_value(spec: TestSpec, trial: Trial, typed: str, reason: str) -> float:
    """The value a trial is given, rounded as the test records it.

    A number read off the patient can be corrected here, though not while the screen is open: then
    it is typed again.

    Raises:
        EntryRefusedError: It is no number, or the test cannot give it.
    """
    value = _read_off(spec, typed)
    if value is None:
        amended = corrected(spec, trial, typed, reason)
        value = amended.value
    else:
        amended = trial.model_copy(update={"value": value})
    against = contradiction(spec, amended)
    if against or value is None:
        raise EntryRefusedError(f"It cannot be corrected so: {against}.")
    if same := why_no_other_value(trial, value):
        raise EntryRefusedError(same)
    return value


def replaced_by_it(session: Session, place: int) -> str:
    """Which earlier addendum another change of a trial replaces, as a sentence; empty for none."""
    number = session.addendum_of(place)
    if number is None:
        return ""
    return f"It replaces what addendum {number} says of trial {place}."


def make_addendum(
    session: Session,
    written: datetime,
    reason: str,
    *,
    text: str = "",
    trial: int | None = None,
    value: float | None = None,
    strike: bool = False,
) -> Addendum:
    """Make an addendum to a session: words, or for a trial another value or that it is void.

    Args:
        trial: The trial it is about, as for `trial_at`.
        value: What that trial's value should have been; see `corrected_value`.

    Raises:
        EntryRefusedError: It cannot be added like this, and why.
    """
    void = "" if trial is None else trial_at(session, trial).void
    if strike and void:
        raise EntryRefusedError(f"Trial {trial} is void already: {void}.")
    if value is not None and void:
        raise EntryRefusedError(f"Trial {trial} is void, so its value does not count: {void}.")
    data = {
        "written": written,
        "reason": reason.strip(),
        "text": text.strip(),
        "trial": trial,
        "value": value,
        "struck_out": strike,
    }
    try:
        return Addendum.model_validate(data)
    except ValidationError as error:
        path, why = in_plain_words(error, data)[0]
        named = f"the {path[0]} " if path else ""
        raise EntryRefusedError(f"It cannot be added like this: {named}{why}.") from None


def _read_off(spec: TestSpec, typed: str) -> float | None:
    """A number of a test whose one number is typed, in bounds; None for any other test."""
    if not spec.timer.numbers:
        return None
    fields = tuple(field for field in spec.timer.numbers if field.id == "value")
    if not fields:
        raise EntryRefusedError(
            f"{spec.name} has no one value: make the trial void, and say why in words."
        )
    entry = Entry(fields, (typed.strip() or "nothing",))
    if entry.first_problem:
        raise EntryRefusedError(entry.first_problem[1])
    return entry.numbers["value"]
