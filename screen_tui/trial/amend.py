"""What may be changed in a trial that is kept. Nothing is lost by it: what stood there stays."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from screen_tui.engine.measures import HANDS_USED
from screen_tui.errors import EntryRefusedError
from screen_tui.files.reasons import in_plain_words
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Trial
from screen_tui.trial.numbers import read_number
from screen_tui.trial.record import round_half_up, value_decimals

CORRECTION_REASONS = (
    "key pressed too early or too late",
    "counted by eye",
    "timed with another watch",
    "typing mistake",
)


def struck_out(trial: Trial, reason: str) -> Trial:
    """The trial struck out for a reason.

    Raises:
        EntryRefusedError: The reason cannot be kept.
    """
    return _changed(trial, void=reason)


def restored(trial: Trial) -> Trial:
    """A struck-out trial that counts again; its note says that it was struck out, and why."""
    return noted(_changed(trial, void=""), f"was void: {trial.void}; counts again")


def noted(trial: Trial, words: str) -> Trial:
    """The trial with words added to its note.

    Raises:
        EntryRefusedError: The note would be too long, or has characters that cannot be kept.
    """
    return _changed(trial, note="; ".join(part for part in (trial.note, words.strip()) if part))


def why_no_correction(spec: TestSpec, trial: Trial) -> str:
    """Why the value of a trial cannot be corrected by hand; empty when it can."""
    if spec.timer.zero_with_hands and HANDS_USED in trial.signs:
        return "Hands were used, so it counts 0 by the published rule."
    return spec.timer.why_no_correction


def corrected(spec: TestSpec, trial: Trial, typed: str, reason: str) -> Trial:
    """The trial with another value; the one that stood there stays beside it.

    A hold that is no longer as long as its cap did not end there; why it ended is then open.

    Args:
        spec: The test.
        trial: The trial.
        typed: The new value in the unit of the test, as it was typed.
        reason: Why it is corrected.

    Raises:
        EntryRefusedError: It is no number, or cannot be the value of a trial of this test.
    """
    refusal = why_no_correction(spec, trial)
    if refusal:
        raise EntryRefusedError(refusal)
    value = read_number(typed.strip())
    if value is None:
        raise EntryRefusedError(f"{typed.strip() or 'Nothing'} is not a number.")
    decimals = value_decimals(spec)
    if decimals == 0 and not value.is_integer():
        raise EntryRefusedError(f"{typed.strip()} is not a whole number.")
    changes: dict[str, Any] = {"value": round_half_up(value, decimals), "correction": reason}
    if not trial.correction:
        changes["corrected_from"] = trial.value
    changes["ended"] = spec.timer.ending_of(value, trial.ended)
    return _changed(trial, **changes)


def _changed(trial: Trial, **changes: Any) -> Trial:
    data = {**trial.model_dump(), **changes}
    try:
        return Trial.model_validate(data)
    except ValidationError as error:
        _, reason = in_plain_words(error, data)[0]
        raise EntryRefusedError(f"It cannot be kept like this: it {reason}.") from None
