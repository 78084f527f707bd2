"""Step one: each number against its line, given age, sex and side."""

from __future__ import annotations

from collections.abc import Mapping
from statistics import NormalDist

from screen_tui.engine.measures import (
    over_trials,
    slowing_percent,
    symmetry_percent,
    trial_values,
)
from screen_tui.engine.observe import Observation, observe, other
from screen_tui.engine.results import LineUsed, ReferenceUsed, Result, Standing
from screen_tui.protocol.lines import ResultLine
from screen_tui.protocol.tests import ResultMeasure, TestSpec
from screen_tui.protocol.timers import Hold
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Client, Session

ResultKey = tuple[str, str | None, str]
"""Test, side, measure."""


def grade(protocol: Protocol, session: Session) -> Mapping[ResultKey, Result]:
    """Grade every measure of every test that was done, in the order of the protocol.

    Nothing is extrapolated: without a line for this age and sex a result is ``not judged``.
    """
    seen = observe(protocol, session)
    results: dict[ResultKey, Result] = {}
    for (test, side), observation in seen.items():
        if not observation.plain:
            continue
        opposite = seen.get((test, other(side))) if side else None
        for measure in observation.spec.measures:
            results[test, side, measure.id] = _grade_one(
                protocol, session.client, observation, opposite, measure
            )
    return results


def _grade_one(
    protocol: Protocol,
    client: Client,
    observation: Observation,
    opposite: Observation | None,
    measure: ResultMeasure,
) -> Result:
    spec = observation.spec
    fair = [trial for trial in observation.plain if not trial.pain_limited]
    values = trial_values(spec, measure, fair or observation.plain, opposite)
    value = over_trials(measure, values)
    steps = next((t.steps for t in observation.plain if t.steps is not None), None)
    line = _judging_line(spec, measure, client, steps)
    why_not = _why_not_judged(observation, measure, value, line, client)
    short = near = False
    if not why_not and line is not None and value is not None:
        limit = line.limit_for(client.age, client.sex)
        assert limit is not None
        short = not line.met_by(value, limit)
        sem = spec.sem(measure.id)
        near = sem is not None and abs(value - limit) < sem
    return Result(
        test=spec.id,
        side=observation.side,
        measure=measure.id,
        label=measure.label,
        value=value,
        unit=measure.unit,
        decimals=measure.decimals,
        standing=_standing(bool(why_not), near, short),
        short=short,
        why_not=why_not,
        line=_line_used(line, client) if line and not why_not else None,
        flags=() if why_not else _flags(spec, measure, value, client, steps),
        reference=_reference(protocol, spec, measure, value, client, steps),
        near_within=spec.sem(measure.id),
        symmetry_percent=_symmetry(observation, opposite, measure, value),
        slowing_percent=slowing_percent(spec, fair),
        trials=values,
    )


def _standing(not_judged: bool, near: bool, short: bool) -> Standing:
    if not_judged:
        return "not judged"
    if near:
        return "near the line"
    return "short of the line" if short else "meets"


def _judging_line(
    spec: TestSpec, measure: ResultMeasure, client: Client, steps: int | None
) -> ResultLine | None:
    for line in spec.lines:
        if (
            line.role == "judge"
            and line.measure == measure.id
            and line.only_steps in (None, steps)
            and line.limit_for(client.age, client.sex) is not None
        ):
            return line
    return None


def _why_not_judged(
    observation: Observation,
    measure: ResultMeasure,
    value: float | None,
    line: ResultLine | None,
    client: Client,
) -> str:
    spec = observation.spec
    if observation.pain_limited:
        return "pain limited every trial"
    if "hands-used" in observation.signs and spec.timer.kind in ("count-in-time", "time-for-count"):
        return "hands were used"
    if value is None:
        return "no value was recorded"
    if line is None:
        lines = [one for one in spec.lines if one.measure == measure.id and one.role == "judge"]
        if not lines:
            return spec.not_judged_because or "no published line"
        by_sex = {limit.sex for one in lines for limit in one.limits} != {"any"}
        if by_sex and client.sex == "unspecified":
            return "the published line differs by sex, and sex was not specified"
        return f"no published reference for age {client.age}"
    return ""


def _line_used(line: ResultLine, client: Client) -> LineUsed:
    limit = line.limit_for(client.age, client.sex)
    assert limit is not None
    return LineUsed(line.id, line.meets, limit, line.meaning, line.population, line.source)


def _flags(
    spec: TestSpec, measure: ResultMeasure, value: float | None, client: Client, steps: int | None
) -> tuple[LineUsed, ...]:
    raised = []
    for line in spec.lines:
        if (
            line.role != "flag"
            or line.measure != measure.id
            or line.only_steps not in (None, steps)
        ):
            continue
        limit = line.limit_for(client.age, client.sex)
        if value is not None and limit is not None and not line.met_by(value, limit):
            raised.append(_line_used(line, client))
    return tuple(raised)


def _reference(
    protocol: Protocol,
    spec: TestSpec,
    measure: ResultMeasure,
    value: float | None,
    client: Client,
    steps: int | None,
) -> ReferenceUsed | None:
    """The first reference row for this person, published ones before remembered ones."""
    fitting = [
        (reference, row, protocol.source(reference.source).provenance != "published")
        for reference in spec.references
        if reference.measure == measure.id and reference.only_steps in (None, steps)
        if (row := reference.row_for(client.age, client.sex)) is not None
    ]
    for reference, row, provisional in sorted(fitting, key=lambda found: found[2]):
        percentile = None
        if row.sd and value is not None and not reference.ceiling and not provisional:
            share = NormalDist(row.mean, row.sd).cdf(value)
            percentile = 100 * (share if measure.better == "higher" else 1 - share)
        return ReferenceUsed(
            row.mean, row.sd, percentile, reference.population, reference.source, provisional
        )
    return None


def _symmetry(
    observation: Observation,
    opposite: Observation | None,
    measure: ResultMeasure,
    value: float | None,
) -> float | None:
    """Only where both sides have a fair value below the cap: two full holds tell nothing."""
    if opposite is None or value is None or observation.pain_limited or opposite.pain_limited:
        return None
    spec = observation.spec
    theirs = over_trials(measure, trial_values(spec, measure, opposite.plain, observation))
    if theirs is None:
        return None
    if isinstance(spec.timer, Hold) and max(value, theirs) >= spec.timer.cap_s:
        return None
    return symmetry_percent(measure, value, theirs)
