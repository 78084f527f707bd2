"""Two visits of one person compared test by test, like with like.

A change is one only beyond the measurement error, and it is looked at only where the two numbers
were got in the same way. Whatever stands in the way of that is said, never smoothed over.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal

from pydantic import Field, field_serializer

from screen_tui.engine.comparable import TestConditions, conditions_of, counting
from screen_tui.engine.conditions import Seen
from screen_tui.engine.grade import NEEDS_BODY_SIZE, ResultKey
from screen_tui.engine.measures import HANDS_USED, is_better_by, set_up_of
from screen_tui.engine.observe import sides_of
from screen_tui.engine.results import HIDDEN, OR_NULL, rounded, to
from screen_tui.engine.safety import PAIN_LIMIT
from screen_tui.fields import SetUpId, Sex, Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import MDC95_OVER_SEM, ResultMeasure, TestSpec
from screen_tui.session.model import Session, Trial
from screen_tui.timing.spec import CAP

NOT_TESTED, NO_VALUE, UNABLE = "not tested", "no value was recorded", "could not be done"
"""Why a visit has no number."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What one visit has to say of one measure on one side.

    Attributes:
        value: The result, in the measure's unit; None where there is none, with ``missing``.
        full: A hold that reached its full time: the person could have gone on.
        corrected: A trial that made it was corrected by hand, then or in an addendum.
        pain_limited: Pain limited every trial.
        hands: Hands were used in rising.
        unknown: What of the set-up is not known, though the test asks for it.
        other_knee: For a deficit against the other knee, whether that knee was measured.
        footwear: What was worn; empty where it does not matter to the test.
        worst_pain: The worst pain of any trial of that test and leg, 0 to 10; None if not asked.
    """

    value: float | None = None
    full: Annotated[bool, Field(serialization_alias="full_time")] = False
    missing: Annotated[str, OR_NULL] = NOT_TESTED
    corrected: bool = False
    pain_limited: Annotated[bool, HIDDEN] = False
    hands: Annotated[bool, HIDDEN] = False
    conditions: Annotated[TestConditions | None, HIDDEN] = None
    unknown: Annotated[tuple[SetUpId, ...], HIDDEN] = ()
    other_knee: Annotated[bool, HIDDEN] = True
    trials: Annotated[int, HIDDEN] = 0
    footwear: Annotated[str, HIDDEN] = ""
    worst_pain: Annotated[int | None, HIDDEN] = None
    age: Annotated[int, HIDDEN] = 0
    sex: Annotated[Sex, HIDDEN] = "unspecified"
    decimals: Annotated[int, HIDDEN] = 1

    @field_serializer("value")
    def _as_recorded(self, value: float | None) -> float | int | None:
        return rounded(value, self.decimals)

    @property
    def done(self) -> bool:
        """Whether there was at least one trial, even one without a number."""
        return not self.missing.startswith(NOT_TESTED)


Readings = Mapping[ResultKey, Reading]
"""By test, side and measure; what a visit has nothing to say of is not in it."""


def readings_of(protocol: ScreenProtocol, session: Session) -> Readings:
    """Read every measure of a session that was tested, or that was left out for a reason."""
    seen = Seen.of(protocol, session)
    found: dict[ResultKey, Reading] = {}
    for spec, side, measure in measures_of(protocol):
        reading = _reading(seen, spec, side, measure)
        if reading is not None:
            found[spec.id, side, measure.id] = reading
    return found


def _reading(
    seen: Seen, spec: TestSpec, side: Side | None, measure: ResultMeasure
) -> Reading | None:
    observation = seen.observations.get((spec.id, side))
    if observation is None or not observation.plain:
        reasons = [skip.reason for skip in seen.session.skipped if skip.covers(spec.id, side)]
        return Reading(missing=f"{NOT_TESTED} ({reasons[0]})") if reasons else None
    result = seen.result(observation, measure.id)
    if result is None or result.value is None:
        unable = "unable" in observation.ended
        return Reading(missing=UNABLE if unable else NO_VALUE, worst_pain=observation.worst_pain)
    made_of = counting(observation, measure)
    # A riser noted at any of these flights is that of all.
    conditions = conditions_of(spec, max(made_of, key=lambda trial: trial.riser_cm is not None))
    asked = {condition.id for condition in spec.set_up}
    worn = dict.fromkeys(str(set_up_of(spec, trial, "footwear")) for trial in made_of)
    return Reading(
        value=result.value,
        missing="",
        full=_full(spec, measure, made_of, result.value),
        pain_limited=observation.pain_limited,
        hands=spec.timer.rises and any(HANDS_USED in trial.signs for trial in made_of),
        conditions=conditions,
        unknown=tuple(one for one, noted in conditions.set_up if noted is None and one in asked),
        other_knee=measure.taken_from != "deficit" or bool(observation.other_passive),
        trials=len(made_of),
        corrected=any(trial.correction for trial in made_of),
        footwear=" and ".join(sorted(worn)) if "footwear" in asked else "",
        worst_pain=observation.worst_pain,
        age=observation.client.age,
        sex=observation.client.sex,
        decimals=measure.decimals,
    )


def _full(spec: TestSpec, measure: ResultMeasure, made_of: tuple[Trial, ...], value: float) -> bool:
    """Whether the clock, and not the person, ended what makes the value."""
    cap = spec.timer.cap
    if cap is None or measure.taken_from != "value":
        return False
    best = measure.over_trials == "best"
    ended = [trial for trial in made_of if not best or trial.value == value]
    return any(one.ended == CAP or (one.value or 0) >= cap for one in ended)


ChangeVerdict = Literal["better", "worse", "within error", "no published error", "not comparable"]

_UNKNOWN: dict[SetUpId, str] = {
    "aid": "the aid was not recorded, so it may not have been the same",
    "riser_cm": "the riser was not recorded, so the stairs may not have been the same",
}

_ROUNDING = 1e-9
"""A difference of decimal numbers may fall this short of the error it is equal to."""


@dataclass(frozen=True, slots=True)
class ErrorUsed:
    """The published error a change is held against.

    Attributes:
        mdc95: The minimal detectable change at 95 %, in the measure's unit.
        kind: What was published: SEM, MDC90 or MDC95.
        published: The figure as published.
        population: In whom it was measured, and how.
    """

    mdc95: Annotated[float, to(2)]
    kind: str
    published: float
    population: str
    source: str

    def exceeded_by(self, amount: float) -> bool:
        """Whether a difference is a change: at least as large as the least detectable one."""
        return abs(amount) >= self.mdc95 - _ROUNDING


@dataclass(frozen=True, slots=True)
class Number:
    """One measure of one test on one side."""

    test: str
    side: Side | None
    measure: str
    label: str
    unit: str
    decimals: Annotated[int, HIDDEN]
    better_when: Annotated[Literal["higher", "lower"], Field(serialization_alias="better")]


def fields_of(
    spec: TestSpec, side: Side | None, of: ResultMeasure
) -> tuple[str, Side | None, str, str, str, int, Literal["higher", "lower"]]:
    """The fields of a `Number`, in order."""
    return spec.id, side, of.id, of.label, of.unit, of.decimals, of.better


@dataclass(frozen=True, slots=True)
class Change(Number):
    """What became of one number.

    Attributes:
        difference: Now less then, in the measure's unit; None where they cannot be compared.
        at_least: One of the two was a full hold, so the true difference is at least this large.
        why_not: What stands in the way of comparing; empty unless not comparable.
        error: What the difference was held against; None where no error is published.
        disagrees: Another published error of the measure, by which the verdict would be another.
        remarks: What does not bar the comparison and should be known.
    """

    then: Reading
    now: Reading
    difference: float | None
    at_least: bool
    verdict: ChangeVerdict
    why_not: Annotated[str, OR_NULL] = ""
    error: ErrorUsed | None = None
    disagrees: ErrorUsed | None = None
    remarks: tuple[str, ...] = ()

    @field_serializer("difference")
    def _as_recorded(self, difference: float | None) -> Any:
        return rounded(difference, self.decimals)


def compare(protocol: ScreenProtocol, earlier: Session, later: Session) -> tuple[Change, ...]:
    """What changed between two visits of one person.

    Returns:
        One change for each measure, on each side, that at least one of the visits has something to
        say of, in the order of the protocol. Swapping the visits turns every change round.
    """
    both = readings_of(protocol, earlier), readings_of(protocol, later)
    changes = []
    for spec, side, measure in measures_of(protocol):
        then, now = (one.get((spec.id, side, measure.id), Reading()) for one in both)
        if worth_telling(measure, (then, now)):
            changes.append(change_of(spec, side, measure, then, now))
    return tuple(changes)


def measures_of(protocol: ScreenProtocol) -> Iterator[tuple[TestSpec, Side | None, ResultMeasure]]:
    """Every measure of every test on every side, in the order of the protocol."""
    for spec in protocol.tests:
        for side in sides_of(spec):
            for measure in spec.measures:
                yield spec, side, measure


def worth_telling(measure: ResultMeasure, readings: Iterable[Reading]) -> bool:
    """Whether a measure was tested at all; what needs height and mass only where they gave it."""
    if measure.taken_from in NEEDS_BODY_SIZE:
        return any(one.value is not None for one in readings)
    return any(one.done for one in readings)


def change_of(
    spec: TestSpec, side: Side | None, measure: ResultMeasure, then: Reading, now: Reading
) -> Change:
    """What became of one number."""
    change = Change(
        *fields_of(spec, side, measure),
        then=then,
        now=now,
        difference=None,
        at_least=False,
        verdict="not comparable",
        why_not="; ".join(_barriers(then, now)),
    )
    if change.why_not or then.value is None or now.value is None:
        return change
    difference = now.value - then.value
    at_least = then.full != now.full
    full = f"full time {'now' if now.full else 'then'}"
    if at_least and not (difference > 0 if now.full else difference < 0):
        return replace(change, why_not=f"{full}, and not shorter the other time")
    change = replace(change, difference=difference, at_least=at_least, remarks=_remarks(then, now))
    errors = errors_of_change(spec, measure.id, then, now)
    if not errors:
        return replace(change, verdict="no published error")
    real = errors[0].exceeded_by(difference)
    if at_least and not real:
        why_not = f"{full}, and what is known of the change is within the error"
        return replace(change, difference=None, at_least=False, error=errors[0], why_not=why_not)
    way: ChangeVerdict = "better" if is_better_by(measure, then.value, now.value) > 0 else "worse"
    others = (one for one in errors[1:] if one.exceeded_by(difference) != real)
    return replace(
        change,
        verdict=way if real else "within error",
        error=errors[0],
        disagrees=next(others, None),
    )


def errors_of_change(spec: TestSpec, measure: str, then: Reading, now: Reading) -> list[ErrorUsed]:
    """What a change between two visits is held against, the first of them first.

    Only errors between visits, of people as old as this one was at both.
    """
    first, second = (
        spec.errors_between("visits", measure, one.age, one.sex) for one in (then, now)
    )
    return [
        ErrorUsed(one.sem * MDC95_OVER_SEM, one.kind, one.value, one.population, one.source)
        for one in first
        if one in second
    ]


def digest_remarks(protocol: ScreenProtocol, earlier: Session, later: Session) -> tuple[str, ...]:
    """What to know when the protocol is not the one a visit was made with.

    A session keeps the digest of the whole, so which tests changed cannot be told from it.
    """
    then, now = earlier.protocol_digest, later.protocol_digest
    which = "Both are read by today's; whether it is a test compared here that changed, the files "
    which += "of the sessions do not tell."
    if then and now and then != now:
        return (f"The protocol has changed between these visits. {which}",)
    if (then or now) and any(one and one != protocol.digest for one in (then, now)):
        return (f"The protocol has changed since these visits. {which}",)
    return ()


def _barriers(then: Reading, now: Reading) -> list[str]:
    if then.missing and then.missing == now.missing:
        return [f"{then.missing}, both times"]
    if then.missing or now.missing:
        both = ((then, "then"), (now, "now"))
        return [f"{one.missing} {when}" for one, when in both if one.missing]
    found = [
        _when(then, now, "pain limited every trial", lambda one: one.pain_limited),
        _when(then, now, "hands used", lambda one: one.hands),
        _other_set_up(then.conditions, now.conditions),
        ""
        if then.other_knee == now.other_knee
        else f"held against the other knee {'then' if then.other_knee else 'now'} only",
        "full time both times" if then.full and now.full else "",
    ]
    return [barrier for barrier in found if barrier]


def _when(then: Reading, now: Reading, what: str, holds: Callable[[Reading], bool]) -> str:
    if holds(then) and holds(now):
        return f"{what} both times"
    return f"{what} {'then' if holds(then) else 'now'}" if holds(then) or holds(now) else ""


def _other_set_up(before: TestConditions | None, after: TestConditions | None) -> str:
    if before is None or after is None or before.comparable_to(after):
        return ""
    ours, theirs = replace(before, hands=False), replace(after, hands=False)
    return f"{ours.words(theirs)} then, {theirs.words(ours)} now"


def _remarks(then: Reading, now: Reading) -> tuple[str, ...]:
    found = []
    if then.trials != now.trials:
        counts = [f"{one.trials} trial{'' if one.trials == 1 else 's'}" for one in (then, now)]
        found.append(f"{counts[0]} then, {counts[1]} now")
    if then.footwear != now.footwear:
        found.append(f"footwear: {then.footwear} then, {now.footwear} now")
    corrected = _when(then, now, "corrected by hand", lambda one: one.corrected)
    found += [corrected] if corrected else []
    found += [_UNKNOWN[one] for one in _UNKNOWN if one in (*then.unknown, *now.unknown)]
    painful = f"pain above {PAIN_LIMIT} of 10"
    pain = _when(then, now, painful, lambda one: (one.worst_pain or 0) > PAIN_LIMIT)
    return tuple([*found, pain] if pain else found)
