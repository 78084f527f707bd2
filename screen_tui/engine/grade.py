"""Step one: each number against its line, given age, sex and side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from statistics import NormalDist

from screen_tui.engine.comparable import (
    as_published,
    conditions_of,
    counting,
    fair_and_comparable,
    fits,
    fitting,
    right_steps,
    with_limits,
)
from screen_tui.engine.measures import (
    HANDS_USED,
    over_trials,
    slowing_percent,
    symmetry_percent,
    trial_values,
)
from screen_tui.engine.observe import Key, Observation, other, was_watched
from screen_tui.engine.results import LineUsed, ReferenceUsed, Result, Standing
from screen_tui.fields import Sex
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import SILENT_WHEN_MET, LineKind, ResultLine, ResultMeasure, TestSpec
from screen_tui.session.model import Client, Trial
from screen_tui.timing.kinds import reason_words

NEEDS_BODY_SIZE = ("rise-power", "stair-power")
"""What is left out, rather than called missing, where height or mass is not known."""

NEAR: Standing = "near the line"

NOT_WATCHED = "not watched throughout, so there may have been more signs"

ResultKey = tuple[str, str | None, str]
"""Test, side, measure."""


def grade(protocol: ScreenProtocol, seen: Mapping[Key, Observation]) -> Mapping[ResultKey, Result]:
    """Grade every measure of every test that was done, in the order of the protocol.

    Nothing is extrapolated: without a line for this age and sex a result is ``not judged``.
    """
    results: dict[ResultKey, Result] = {}
    for (test, side), observation in seen.items():
        if not observation.plain:
            continue
        opposite = seen.get((test, other(side))) if side else None
        for measure in observation.spec.measures:
            graded = _grade_one(protocol, observation, opposite, measure)
            if graded.value is not None or measure.taken_from not in NEEDS_BODY_SIZE:
                results[test, side, measure.id] = graded
    return results


def _grade_one(
    protocol: ScreenProtocol,
    observation: Observation,
    opposite: Observation | None,
    measure: ResultMeasure,
) -> Result:
    spec, client = observation.spec, observation.client
    made_of = counting(observation, measure)
    values = trial_values(observation, measure, made_of)
    value = over_trials(measure, values)
    trials = made_of or observation.plain
    lines = with_limits(fitting(spec, measure, trials), client)
    judging = next((one for one in lines if one[0].role == "judge"), None)
    reached = "" if value is not None else _reached(spec, measure, trials)
    unusable = _why_unusable(observation, trials, value, reached)
    why_not = unusable or ("" if judging else _why_no_line(spec, trials, measure, client))
    # A percentile among people who sat on another seat would be one of another test.
    norm = value if not unusable and as_published(spec, measure, trials) else None
    of_grade = value is not None and measure.taken_from == "value"
    graded = spec.timer.worded(value) if value is not None and of_grade else ""
    short = near = False
    error = spec.error_at_line(measure.id, client.age, client.sex)
    held_against = None if unusable or value is None else judging
    if held_against is not None and value is not None:
        line, limit = held_against
        short = not line.met_by(value, limit)
        within = error is not None and abs(value - limit) < error.sem
        # Ten of ten is not nearly ten.
        best = spec.plausible.maximum if measure.better == "higher" else spec.plausible.minimum
        near = within and value != best
        if not short and line.kind in SILENT_WHEN_MET:
            why_not = f"{_NAMES[line.kind]}: meeting it says nothing"
    # Signs that were not looked for could only make a score higher, which may be worse.
    unseen = measure.taken_from == "points" and not was_watched(spec, trials)
    if unseen and not short:
        why_not = why_not or NOT_WATCHED
        graded = f">= {value:.0f} {measure.unit}" if value is not None else ""
    standing: Standing = "short of the line" if short else "meets"
    if why_not:
        standing = "not judged"
    elif near:
        standing = NEAR
    return Result(
        test=spec.id,
        side=observation.side,
        measure=measure.id,
        label=measure.label,
        value=value,
        unit=measure.unit,
        decimals=measure.decimals,
        standing=standing,
        short=short,
        why_not=why_not,
        in_words=(reached and reached + _stopped_by(trials)) or graded,
        line=_line_used(*held_against) if held_against else None,
        flags=() if unusable or value is None else _flags(lines, value),
        reference=_reference(protocol, observation, measure, trials, norm),
        near_within=error.sem if error else None,
        symmetry_percent=_symmetry(observation, opposite, measure, value),
        slowing_percent=slowing_percent(
            spec, _series_of(measure, fair_and_comparable(observation, made_of))
        ),
        trials=values,
    )


def _series_of(measure: ResultMeasure, trials: Sequence[Trial]) -> list[Trial]:
    """The trials whose splits are the measure's own: a flight up says nothing of the way down.

    Power is given without slowing, which is beside the time or count it is taken from.
    """
    if measure.taken_from in NEEDS_BODY_SIZE:
        return []
    way = {"time-up": "up", "time-down": "down"}.get(measure.taken_from)
    return [trial for trial in trials if way in (None, trial.direction)]


_NAMES: dict[LineKind, str] = {
    "limit of a mean": "the limit of a mean",
    "risk": "a risk cut-off",
    "floor": "a floor",
}
"""What is said of a line whose good side says nothing."""


def _reached(spec: TestSpec, measure: ResultMeasure, trials: Sequence[Trial]) -> str:
    """How many repetitions or steps the best trial without a value came to, and of how many."""
    if spec.timer.counts and measure.taken_from == "value":
        counted = [one.raw_value for one in trials if one.raw_value is not None]
        return f"{max(counted):.0f} {spec.timer.counts}" if counted else ""
    wanted = spec.timer.wanted(trials[0].steps) if trials else None
    # A flight that was timed as a whole says nothing of the steps it was stopped after.
    tapped = spec.timer.flight is None
    done = [
        len(one.splits)
        for one in _series_of(measure, trials)
        if one.splits or (one.ended and tapped)
    ]
    if wanted is None or spec.timer.split_least is None or spec.timer.counts or not done:
        return ""
    return f"{max(done)} of {wanted}"


def _stopped_by(trials: Sequence[Trial]) -> str:
    reasons = dict.fromkeys(reason_words(one.ended) for one in trials if one.ended)
    return f", stopped: {', '.join(reasons)}" if reasons else ""


def _why_unusable(
    observation: Observation, trials: Sequence[Trial], value: float | None, reached: str
) -> str:
    if observation.pain_limited:
        return "pain limited every trial"
    if trials and all(trial.ended == "fear" for trial in trials):
        return "given up for fear, it measured nothing"
    hands = any(HANDS_USED in trial.signs for trial in trials)
    if hands and observation.spec.timer.rises:
        return "hands were used"
    if value is None:
        return f"only {reached} done" if reached else "no value was recorded"
    return ""


def _why_no_line(
    spec: TestSpec, trials: Sequence[Trial], measure: ResultMeasure, client: Client
) -> str:
    lines = [one for one in spec.lines if one.measure == measure.id and one.role == "judge"]
    if not lines:
        flags = [line for line in spec.lines if line.measure == measure.id]
        if any(line.limit_for(client.age, client.sex) is not None for line in flags):
            return "the published cut-offs for it only warn"
        return spec.not_judged_because or "no published cut-off"
    if not any(fits(spec, one, trials) for one in lines):
        return "the test was set up in another way than the published cut-off asks for"
    sexes: tuple[Sex, ...] = ("female", "male")
    known = any(one.limit_for(client.age, sex) is not None for one in lines for sex in sexes)
    if known and client.sex == "unspecified":
        return "the published cut-off differs by sex, and sex was not specified"
    return f"no published reference for age {client.age}"


def _line_used(line: ResultLine, limit: float) -> LineUsed:
    return LineUsed(
        line.id, line.meets, limit, line.meaning, line.population, line.source, line.kind
    )


def _flags(lines: Sequence[tuple[ResultLine, float]], value: float) -> tuple[LineUsed, ...]:
    return tuple(
        _line_used(line, limit)
        for line, limit in lines
        if line.role == "flag" and not line.met_by(value, limit)
    )


def _reference(
    protocol: ScreenProtocol,
    observation: Observation,
    measure: ResultMeasure,
    trials: Sequence[Trial],
    value: float | None,
) -> ReferenceUsed | None:
    """The first reference row for this person, published ones before remembered ones.

    A value of None gets no percentile, such as one that was given in pain, with hands, or
    from a seat that no line of the measure allows.
    """
    fitting = [
        (reference, row, protocol.source(reference.source).provenance != "published")
        for reference in observation.spec.references
        if reference.measure == measure.id and right_steps(reference.only_steps, trials)
        if (row := reference.row_for(observation.client.age, observation.client.sex)) is not None
    ]
    for reference, row, provisional in sorted(fitting, key=lambda found: found[2]):
        percentile = None
        if row.sd and value is not None and not reference.no_percentile_because and not provisional:
            share = NormalDist(row.mean, row.sd).cdf(value)
            percentile = 100 * (share if measure.better == "higher" else 1 - share)
        return ReferenceUsed(
            row.mean,
            row.sd,
            percentile,
            reference.population,
            reference.source,
            provisional,
            reference.of,
        )
    return None


def _symmetry(
    observation: Observation,
    opposite: Observation | None,
    measure: ResultMeasure,
    value: float | None,
) -> float | None:
    """Only where both sides have a fair value below the cap, got in the same way.

    Two full holds tell nothing, and neither do two legs on steps of two heights.
    """
    if opposite is None or value is None or observation.pain_limited or opposite.pain_limited:
        return None
    spec = observation.spec
    ours, made_of = counting(observation, measure), counting(opposite, measure)
    theirs = over_trials(measure, trial_values(opposite, measure, made_of))
    if theirs is None or conditions_of(spec, ours[0]) != conditions_of(spec, made_of[0]):
        return None
    if spec.timer.cap is not None and max(value, theirs) >= spec.timer.cap:
        return None
    return symmetry_percent(measure, value, theirs)
