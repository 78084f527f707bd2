"""From an ended trial to the record that is kept."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from itertools import accumulate
from typing import Any

from pydantic import ValidationError

from screen_tui.engine.measures import HANDS_USED
from screen_tui.flow.ending import CAP, COULD_DO_NO_MORE
from screen_tui.flow.made import Made
from screen_tui.flow.set_up import Noted, recorded
from screen_tui.flow.stopwatch import counts
from screen_tui.protocol.base import Side
from screen_tui.protocol.tests import TestSpec
from screen_tui.protocol.timers import CountInTime, RepeatHold, Walk
from screen_tui.session.model import Trial

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

    Those of the measure that is the value itself. A walk that yields a speed is recorded to a
    hundredth of a second, since a tenth is some hundredths of a metre per second over 4 m;
    anything else timed, to a tenth.
    """
    if counts(spec.timer):
        return 0
    for measure in spec.measures:
        if measure.taken_from in ("value", "time-up", "time-down"):
            return measure.decimals
    return 2 if isinstance(spec.timer, Walk) else 1


def trial_of(
    spec: TestSpec,
    side: Side | None,
    cue: str,
    made: Made,
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
        made: What was done.
        numbers: Typed numbers by the id of their field.
        trust: What may have disturbed the timing.
        void: Why it is struck out, or "".
        set_up: What was noted on the set-up; what is only usual is not recorded.
    """
    about: dict[str, Any] = {
        "test": spec.id,
        "side": side,
        "signs": made.signs,
        "sign_times": {sign: round_half_up(seconds, 1) for sign, seconds in made.sign_times},
        "ended": ended_of(made),
        "pain": made.pain,
        "cue": cue,
        "void": void,
        "direction": made.direction,
        "steps": made.steps,
        "trust": trust,
        **{str(name): noted for name, noted in recorded(set_up or {}, made.signs).items()},
    }
    if made.timer is None:
        note = _watched_note(spec, made)
        raw = {"raw_value": numbers["value"]} if "value" in numbers else {}
        return Trial(**about, **numbers, **raw, note=note)
    value, raw_value, note = _value(spec, made)
    try:
        return Trial(
            **about, value=value, raw_value=raw_value, splits=_splits(spec, made), note=note
        )
    except ValidationError:
        # Only a clock left running can get here; the rest of what was entered is still kept.
        return Trial(**about, note="left running too long; the time was not recorded")


def ended_of(made: Made) -> str:
    """Why the trial ended: as it was said, or because its full time was reached."""
    return made.ended or (CAP if made.capped else "")


def _value(spec: TestSpec, made: Made) -> tuple[float | None, float | None, str]:
    """The recorded value, the raw one, and the note."""
    assert made.timer is not None
    value = made.timer.value
    note = _stopped_note(spec, made)
    if spec.timer.kind == "count-in-time" and HANDS_USED in made.signs and value is not None:
        adapted = f"hands used, so 0 by the published rule; adapted count {value:.0f}"
        return 0.0, 0.0, "; ".join(part for part in (adapted, note) if part)
    if value is None or (made.incomplete and made.ended not in COULD_DO_NO_MORE):
        return None, value, note
    return round_half_up(value, value_decimals(spec)), value, note


def _stopped_note(spec: TestSpec, made: Made) -> str:
    if made.timer is None or not made.incomplete:
        return ""
    reached = made.timer.snapshot(0.0)
    if isinstance(spec.timer, RepeatHold):
        return f"stopped in hold {len(reached.splits)} of {spec.timer.holds}"
    counted = ""
    if isinstance(spec.timer, CountInTime):
        counted = f" with {reached.count} counted"
    elif spec.timer.kind in ("time-for-count", "steps"):
        of = made.steps or getattr(spec.timer, "count", 0)
        counted = f" at {reached.count} of {of}"
    return f"stopped after {round_half_up(reached.elapsed, 1):.1f} s{counted}"


def _watched_note(spec: TestSpec, made: Made) -> str:
    wanted = spec.timer.repetitions if spec.timer.kind == "quality" else 0
    if 0 < made.repetitions < wanted:
        return f"{made.repetitions} of {wanted} repetitions"
    return ""


def _splits(spec: TestSpec, made: Made) -> tuple[float, ...]:
    assert made.timer is not None
    splits = made.timer.splits
    # Holds of a series are kept as running totals of the seconds held, so that they stand in order.
    in_order = tuple(accumulate(splits)) if isinstance(spec.timer, RepeatHold) else splits
    return tuple(round_half_up(split, _SPLIT_DECIMALS) for split in in_order)
