"""From an ended trial to the record that is kept."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from pydantic import ValidationError

from screen_tui.engine.measures import HANDS_USED
from screen_tui.fields import Side
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Trial
from screen_tui.timing.spec import CAP
from screen_tui.trial.ending import COULD_DO_NO_MORE
from screen_tui.trial.input import TrialInput
from screen_tui.trial.set_up import Noted, recorded

_SPLIT_DECIMALS = 3


def round_half_up(value: float, decimals: int) -> float:
    """Round as people do: a half goes away from zero.

    The value is taken to the microsecond first, so that the noise of binary subtraction
    (112.35 - 100 gives 12.349999...) does not turn a half down.
    """
    exact = Decimal(repr(round(value, 6)))
    return float(exact.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP))


def value_decimals(spec: TestSpec) -> int:
    """Decimals in which a trial's value is recorded.

    Those of the measure that is the value itself, else those of the kind of test.
    """
    if spec.timer.counts:
        return 0
    for measure in spec.measures:
        if measure.taken_from in ("value", "time-up", "time-down"):
            return measure.decimals
    return spec.timer.decimals


def trial_of(
    spec: TestSpec,
    side: Side | None,
    cue: str,
    given: TrialInput,
    numbers: Mapping[str, float],
    trust: tuple[str, ...],
    void: str = "",
    set_up: Noted | None = None,
) -> Trial:
    """Give the record of a trial.

    A trial that was stopped has no value, unless the person could do no more: what was counted by
    then is the result of a count. What was reached is kept in the raw value and the note.

    A 30-second stand with hands used counts 0 by its published rule (Rikli and Jones 1999, J Aging
    Phys Act; instruction sheet of the US CDC); what was counted stands in the note.

    Args:
        spec: The test.
        side: The leg, None for a two-legged test.
        cue: The id of the cue, or "".
        given: What was done.
        numbers: Typed numbers by the id of their field.
        trust: What may have disturbed the timing.
        void: Why it is struck out, or "".
        set_up: What was noted on the set-up; what is only usual is not recorded.
    """
    about: dict[str, Any] = {
        "test": spec.id,
        "side": side,
        "signs": given.signs,
        "sign_times": {sign: round_half_up(seconds, 1) for sign, seconds in given.sign_times},
        "sign_counts": given.sign_counts,
        "sign_legs": dict(given.sign_legs),
        "watched": given.watched,
        "ended": ended_of(given),
        "pain": given.pain,
        "cue": cue,
        "void": void,
        "direction": given.direction,
        "steps": given.steps,
        "trust": trust,
        **{str(name): noted for name, noted in recorded(set_up or {}, given.signs).items()},
    }
    if spec.timer.numbers:
        raw = {"raw_value": numbers["value"]} if "value" in numbers else {}
        return Trial(**about, **numbers, **raw)
    value, raw_value, note = _value(spec, given)
    try:
        return Trial(
            **about, value=value, raw_value=raw_value, splits=_splits(spec, given), note=note
        )
    except ValidationError:
        # Only a clock left running can get here; the rest of what was entered is still kept.
        return Trial(**about, note="left running too long; the time was not recorded")


def ended_of(given: TrialInput) -> str:
    """Why the trial ended: as it was said, or because its full time was reached."""
    return given.ended or (CAP if given.timer.capped else "")


def _value(spec: TestSpec, given: TrialInput) -> tuple[float | None, float | None, str]:
    """The recorded value, the raw one, and the note."""
    value = given.timer.value
    note = _note(spec, given)
    if spec.timer.zero_with_hands and HANDS_USED in given.signs and value is not None:
        adapted = f"hands used, so 0 by the published rule; adapted count {value:.0f}"
        return 0.0, 0.0, "; ".join(part for part in (adapted, note) if part)
    if value is None or (given.timer.incomplete and given.ended not in COULD_DO_NO_MORE):
        return None, value, note
    return round_half_up(value, value_decimals(spec)), value, note


def _note(spec: TestSpec, given: TrialInput) -> str:
    """How far a trial came that was not done in full."""
    reached = given.timer.snapshot(0.0)
    if given.timer.incomplete:
        seconds = f"stopped after {round_half_up(reached.elapsed, 1):.1f} s"
        return spec.timer.stopped_note(seconds, reached, given.steps)
    wanted = None if spec.timer.clocked else spec.timer.wanted(given.steps)
    if wanted is not None and 0 < reached.count < wanted:
        return f"{reached.count} of {wanted} repetitions"
    return ""


def _splits(spec: TestSpec, given: TrialInput) -> tuple[float, ...]:
    splits = spec.timer.recorded_splits(given.timer.splits)
    return tuple(round_half_up(split, _SPLIT_DECIMALS) for split in splits)
