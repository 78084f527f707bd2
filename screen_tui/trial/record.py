"""The record of a trial: made of what was done, changed later, and as it is while under way."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from pydantic import ValidationError

from screen_tui.engine.measures import HANDS_USED
from screen_tui.errors import EntryRefusedError
from screen_tui.fields import Side
from screen_tui.files.reasons import in_plain_words
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import SKIP_REASONS, Trial
from screen_tui.timing.kinds import REASONS
from screen_tui.timing.spec import CAP
from screen_tui.timing.timer import Timer
from screen_tui.trial.numbers import read_number
from screen_tui.trial.set_up import recorded
from screen_tui.trial.state import TrialInput, TrialState, disturbance_noted

WHILE_IT_RAN = "interrupted: the program ended while it was under way"
BEFORE_SAVED = "interrupted: the program ended before it was saved"
UNCONFIRMED = "interrupted: the program ended before its value was confirmed"

CORRECTION_REASONS = (
    "key pressed too early or too late",
    "counted by eye",
    "timed with another watch",
    "typing mistake",
)

COULD_DO_NO_MORE = frozenset({"fatigue", "breathless", "unable"})
"""Reasons after which what was counted so far is the result; others cut the trial short."""

STRIKE_REASONS = (
    "false start",
    "wrong key pressed",
    "instruction not followed",
    "helped or touched",
    "disturbed",
)

NOT_WATCHED = "not watched to the end"
"""Why a trial is void in which the computer did nothing for a while, and nobody confirms it."""

_SPLIT_DECIMALS = 3


def offered_words(protocol: ScreenProtocol) -> frozenset[str]:
    """All words that can be chosen, and the ids of the history; others were typed by somebody."""
    of_rows = {
        ending
        for test in protocol.tests
        for row in test.findings
        if row.when is not None
        for ending in row.when.ended_any
    }
    set_ups = {word for test in protocol.tests for one in test.set_up for word in one.choices}
    stops = {rule.text for rule in protocol.stop_rules}
    stops |= {words for caution in protocol.cautions for words in caution.stop_words}
    asked = {question.id for question in protocol.history}
    answers = {answer.id for question in protocol.history for answer in question.answers}
    words = REASONS.keys() | of_rows | set_ups | stops | asked | answers
    return frozenset((*words, *STRIKE_REASONS, NOT_WATCHED, *SKIP_REASONS))


def round_half_up(value: float, decimals: int) -> float:
    """Round as people do: a half goes away from zero.

    The value is taken to the microsecond first, so that the noise of binary subtraction
    (112.35 - 100 gives 12.349999...) does not turn a half down.
    """
    exact = Decimal(repr(round(value, 6)))
    return float(exact.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP))


def value_decimals(spec: TestSpec) -> int:
    """Decimals of a recorded value: of the measure that is the value, else of the kind of test."""
    if spec.timer.counts:
        return 0
    for measure in spec.measures:
        if measure.taken_from in ("value", "time-up", "time-down"):
            return measure.decimals
    return spec.timer.decimals


def record_of(state: TrialState, void: str = "") -> Trial:
    """The trial as it would be saved now; void for a reason, or not.

    Raises:
        EntryRefusedError: It cannot be saved like this; the sentence names what is wrong.
    """
    spec, given, watch = state.spec, state.input, state.watch
    if spec.timer.split_least is not None:
        watch = watch.splits(given.timer.splits, spec.timer.split_least, given.timer.ignored)
    set_up = {str(name): value for name, value in recorded(state.set_up, given.signs).items()}
    about = {"trust": watch.flags, "void": void, **set_up}
    try:
        trial = trial_of(spec, state.side, state.series.cue, given, state.entry.numbers, **about)
    except ValidationError as refusal:
        (field, *_), reason = in_plain_words(refusal, state.entry.numbers)[0]
        named = next((f.label for f in state.entry.fields if f.id == field), str(field))
        raise EntryRefusedError(f"It cannot be saved like this: {named}: {reason}.") from None
    if state.input.manual_value is not None:
        trial = corrected(state.spec, trial, *state.input.manual_value)
    trial = noted(trial, state.input.note) if state.input.note else trial
    disturbed = disturbance_noted(state)
    try:
        return noted(trial, disturbed) if disturbed else trial
    except EntryRefusedError:
        return trial  # what was typed left no room; the flags of its timing say it too


def trial_of(
    spec: TestSpec,
    side: Side | None,
    cue: str,
    given: TrialInput,
    numbers: Mapping[str, float],
    **more: Any,
) -> Trial:
    """Give the record of a trial: what was done, and the numbers typed, by the id of their field.

    A trial that was stopped has no value, unless the person could do no more: what was counted by
    then is the result of a count. What was reached is saved in the raw value and the note.

    A 30-second stand with hands used counts 0 by its published rule (Rikli and Jones 1999, J Aging
    Phys Act; instruction sheet of the US CDC); what was counted is in the note.
    """
    about = {**_seen(spec, side, cue, given), "ended": ended_of(given), **more}
    if spec.timer.numbers:
        raw = {"raw_value": numbers["value"]} if "value" in numbers else {}
        return Trial(**about, **numbers, **raw)
    value, raw_value, note = _value(spec, given)
    splits = spec.timer.recorded_splits(given.timer.splits)
    rounded = tuple(round_half_up(split, _SPLIT_DECIMALS) for split in splits)
    try:
        return Trial(**about, value=value, raw_value=raw_value, splits=rounded, note=note)
    except ValidationError:
        # Only a clock left running can get here; the rest of what was entered is still saved.
        return Trial(**about, note="left running too long; the time was not recorded")


def _seen(spec: TestSpec, side: Side | None, cue: str, given: TrialInput) -> dict[str, Any]:
    """What a record says of a trial, whether it has ended or not."""
    return {
        "test": spec.id,
        "side": side,
        "cue": cue,
        "signs": given.signs,
        "sign_times": {sign: round_half_up(seconds, 1) for sign, seconds in given.sign_times},
        "sign_counts": given.sign_counts,
        "sign_legs": dict(given.sign_legs),
        "watched": given.watched,
        "repetitions": _counted(spec, given) or None,
        "pain": given.pain,
        "direction": given.direction,
        "steps": given.steps,
    }


def _counted(spec: TestSpec, given: TrialInput) -> int:
    """The repetitions that were counted in a test that is only watched; 0 in all others."""
    return 0 if spec.timer.clocked else given.timer.count


def short_set(spec: TestSpec, given: TrialInput) -> str:
    """That fewer repetitions were watched than the test has, such as ``2 of 5 repetitions``."""
    wanted, counted = spec.timer.wanted(given.steps), _counted(spec, given)
    return f"{counted} of {wanted} repetitions" if 0 < counted < (wanted or 0) else ""


def ended_of(given: TrialInput) -> str:
    """Why the trial ended: as somebody said, or because its full time was reached."""
    return given.ended or (CAP if given.timer.capped else "")


def _value(spec: TestSpec, given: TrialInput) -> tuple[float | None, float | None, str]:
    """The recorded value, the raw one, and the note."""
    value = given.timer.value
    note = _how_far(spec, given)
    if spec.timer.zero_with_hands and HANDS_USED in given.signs and value is not None:
        adapted = f"hands used, so 0 by the published rule; adapted count {value:.0f}"
        return 0.0, 0.0, "; ".join(part for part in (adapted, note) if part)
    if value is None or (given.timer.incomplete and given.ended not in COULD_DO_NO_MORE):
        return None, value, note
    return round_half_up(value, value_decimals(spec)), value, note


def _how_far(spec: TestSpec, given: TrialInput) -> str:
    if given.timer.incomplete:
        # Of an ended timer this is the same at any moment.
        seconds = f"stopped after {round_half_up(given.timer.elapsed(0.0), 1):.1f} s"
        return spec.timer.stopped_note(seconds, given.timer, given.steps)
    return short_set(spec, given)


# What may be changed in a saved trial. Nothing is lost by it: what was there before stays.


def struck_out(trial: Trial, reason: str) -> Trial:
    """The trial made void; an EntryRefusedError says why the reason cannot be saved."""
    return _changed(trial, void=reason)


def restored(trial: Trial) -> Trial:
    """A void trial that counts again; its note says that it was void, and why."""
    return noted(_changed(trial, void=""), f"was void: {trial.void}; counts again")


def noted(trial: Trial, words: str) -> Trial:
    """The trial with words added to its note.

    Raises:
        EntryRefusedError: The note would be too long, or has characters that cannot be saved.
    """
    return _changed(trial, note="; ".join(part for part in (trial.note, words.strip()) if part))


def why_no_correction(spec: TestSpec, trial: Trial) -> str:
    """Why the value of a trial cannot be corrected by hand; empty when it can."""
    if spec.timer.zero_with_hands and HANDS_USED in trial.signs:
        return "Hands were used, so it counts 0 by the published rule."
    return spec.timer.refuses("correction")


def why_no_other_value(trial: Trial, value: float | None) -> str:
    """That a value is what the trial has already; empty where it is another."""
    return "" if value is None or value != trial.value else f"It is {value:g} already."


def corrected(spec: TestSpec, trial: Trial, typed: str, reason: str) -> Trial:
    """The trial with another value, in the unit of the test; the first one stays beside it.

    A hold that is no longer as long as its cap did not end there; why it ended is then open.

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
        raise EntryRefusedError(f"It cannot be saved like this: it {reason}.") from None


# A trial that is not saved yet, as the file holds it in case the program dies.


def under_way(state: TrialState) -> Trial | None:
    """The trial as the file has it if the program died now; None when nothing was begun.

    It is void: who comes back decides whether it counts.
    """
    if not state.unsaved:
        return None
    unconfirmed = state.in_doubt and not state.input.timer.asking
    if state.ended or unconfirmed:
        try:
            return record_of(state, UNCONFIRMED if unconfirmed else BEFORE_SAVED)
        except EntryRefusedError:
            pass  # what is typed so far cannot be saved; the rest is noted below
    given = state.input
    seen = _seen(state.spec, state.side, state.series.cue, given)
    return Trial(**seen, ended=given.ended, note=given.note, void=WHILE_IT_RAN)


def worth_saving(state: TrialState) -> Hashable:
    """What of a trial is worth a write: as long as it is equal, so is what `under_way` gives.

    The display asks ten times a second, and a clock that runs changes nothing of that.
    """
    given = state.input
    return (
        state.unsaved,
        given.phase,
        given.counting_in,
        given.timer.asking,
        state.in_doubt,
        replace(given, timer=_NO_TIMER, go_at=None),
        _counted(state.spec, given),
        state.entry.texts,
        tuple(state.set_up.items()),
    )


_NO_TIMER = Timer()
