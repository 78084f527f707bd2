"""Whether the condition of a rule holds for what was seen; what a single cue changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from screen_tui.engine.comparable import counting, with_set_up_of
from screen_tui.engine.grade import ResultKey, grade
from screen_tui.engine.measures import is_better_by, over_trials, trial_values, worse_by_percent
from screen_tui.engine.observe import Key, Observation, observe, other
from screen_tui.engine.results import CueEffect, MeasureChange, Result
from screen_tui.protocol.evidence import Condition
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import MDC95_OVER_SEM, ResultMeasure
from screen_tui.session.model import Session, Trial


def cue_effects(
    observations: Mapping[Key, Observation], results: Mapping[ResultKey, Result]
) -> tuple[CueEffect, ...]:
    """Every cue that was tried, in the order of the protocol."""
    return tuple(
        cue_effect(observation, cue.id, results)
        for observation in observations.values()
        for cue in observation.spec.cues
        if observation.plain and observation.with_cue(cue.id)
    )


def cue_effect(
    observation: Observation, cue: str, results: Mapping[ResultKey, Result]
) -> CueEffect:
    """What one cue did to the signs and to each measure of the test, set up in the same way.

    Hands may differ: not to need them any more is what a cue can do, and a higher seat is not.
    """
    cued = observation.with_cue(cue)
    spec = observation.spec
    before = _signs_in(with_set_up_of(spec, observation.plain, cued))
    after = _signs_in(with_set_up_of(spec, cued, observation.plain))
    changes = (_change(observation, cue, measure, results) for measure in spec.measures)
    return CueEffect(
        test=spec.id,
        side=observation.side,
        cue=cue,
        cured=tuple(sorted(before - after)),
        persists=tuple(sorted(before & after)),
        appeared=tuple(sorted(after - before)),
        changes=tuple(change for change in changes if change is not None),
    )


def _change(
    observation: Observation, cue: str, measure: ResultMeasure, results: Mapping[ResultKey, Result]
) -> MeasureChange | None:
    """The change of one measure; None where either value is missing or pain was in the way."""
    spec = observation.spec
    before = results.get((spec.id, observation.side, measure.id))
    made_of = counting(observation, measure)
    cued = with_set_up_of(spec, observation.with_cue(cue), made_of)
    fair = [trial for trial in cued if not trial.pain_limited]
    after = over_trials(measure, trial_values(observation, measure, fair))
    if before is None or before.value is None or after is None or observation.pain_limited:
        return None
    client = observation.client
    errors = spec.errors_between("trials", measure.id, client.age, client.sex)
    error = errors[0].sem * MDC95_OVER_SEM if errors else None
    better = is_better_by(measure, before.value, after)
    return MeasureChange(
        measure=measure.id,
        label=measure.label,
        unit=measure.unit,
        decimals=measure.decimals,
        before=before.value,
        after=after,
        error=error,
        verdict="not judged" if error is None else _verdict(better, error),
    )


def _signs_in(trials: Sequence[Trial]) -> set[str]:
    return {sign for trial in trials for sign in trial.signs}


def _verdict(better: float, error: float) -> str:
    if abs(better) < error:
        return "within error"
    return "better" if better > 0 else "worse"


@dataclass(frozen=True, slots=True)
class Match:
    """A condition that holds, with what weakens it."""

    in_pain: bool = False

    def joined(self, more: Match) -> Match:
        return Match(self.in_pain or more.in_pain)


@dataclass(frozen=True, slots=True)
class Seen:
    """All that was seen and graded, to look conditions up in."""

    observations: Mapping[Key, Observation]
    results: Mapping[ResultKey, Result]

    @classmethod
    def of(cls, protocol: ScreenProtocol, session: Session) -> Seen:
        """Observe and grade a session, once for all who ask."""
        observations = observe(protocol, session)
        return cls(observations, grade(protocol, observations))

    def result(self, observation: Observation, measure: str) -> Result | None:
        """The number of that measure in an observation, or None."""
        return self.results.get((observation.spec.id, observation.side, measure))

    def opposite(self, observation: Observation) -> Observation | None:
        """The same test on the other leg; None where it was not done or has no sides."""
        there = other(observation.side)
        return self.observations.get((observation.spec.id, there)) if there else None


def holds(condition: Condition, seen: Seen, observation: Observation) -> Match | None:
    """Whether the condition holds for an observation; None when it does not.

    A two-legged test counts as both sides.
    """
    here = _holds_here(condition, seen, observation)
    if here is None or not condition.both_sides or observation.side is None:
        return here
    opposite = seen.opposite(observation)
    if opposite is None:
        return None
    there = _holds_here(condition, seen, opposite)
    return None if there is None else here.joined(there)


def _holds_here(condition: Condition, seen: Seen, observation: Observation) -> Match | None:
    if not observation.plain:
        return None
    match = Match()
    for part in (_signs, _ended, _measure, _side_difference, _other_way, _slowing):
        found = part(condition, seen, observation)
        if found is None:
            return None
        match = match.joined(found)
    return match


def _signs(condition: Condition, _seen: Seen, observation: Observation) -> Match | None:
    wanted = set(condition.signs_any)
    if observation.signs & set(condition.signs_none):
        return None
    if wanted and not observation.signs & wanted:
        return None
    return Match(in_pain=bool(wanted) and not observation.signs_without_pain & wanted)


def _ended(condition: Condition, _seen: Seen, observation: Observation) -> Match | None:
    if condition.ended_any and not observation.ended & set(condition.ended_any):
        return None
    return Match()


def _measure(condition: Condition, seen: Seen, observation: Observation) -> Match | None:
    if condition.standing is None and condition.at_least is None and condition.at_most is None:
        return Match()
    assert condition.measure is not None
    result = seen.result(observation, condition.measure)
    if result is None or result.value is None:
        return None
    if condition.at_least is not None and result.value < condition.at_least:
        return None
    if condition.at_most is not None and result.value > condition.at_most:
        return None
    if condition.standing is None:
        return None if observation.pain_limited else Match()
    if result.standing == "not judged" or result.short != (condition.standing != "meets"):
        return None
    return Match()


def _side_difference(condition: Condition, seen: Seen, observation: Observation) -> Match | None:
    if condition.worse_than_other_percent is None and condition.worse_than_other_by is None:
        return Match()
    assert condition.measure is not None
    opposite = seen.opposite(observation)
    if opposite is None:
        return None
    here = seen.result(observation, condition.measure)
    there = seen.result(opposite, condition.measure)
    if here is None or there is None or here.value is None or there.value is None:
        return None
    if observation.pain_limited or opposite.pain_limited:
        return None
    measure = observation.spec.measure(condition.measure)
    if condition.worse_than_other_by is not None:
        by = is_better_by(measure, here.value, there.value)
        return Match() if by >= condition.worse_than_other_by else None
    worse = worse_by_percent(measure, here.value, there.value)
    least = condition.worse_than_other_percent or 0.0
    return Match() if worse is not None and worse >= least else None


def _other_way(condition: Condition, seen: Seen, observation: Observation) -> Match | None:
    if condition.slower_than is None:
        return Match()
    this = seen.result(observation, condition.measure or "")
    other = seen.result(observation, condition.slower_than)
    if this is None or other is None or this.value is None or other.value is None:
        return None
    return Match() if this.value >= other.value * (1 + (condition.by_percent or 0) / 100) else None


def _slowing(condition: Condition, seen: Seen, observation: Observation) -> Match | None:
    if condition.slowing_percent is None:
        return Match()
    results = (seen.result(observation, m.id) for m in observation.spec.measures)
    told = [r.slowing_percent for r in results if r and r.slowing_percent is not None]
    return Match() if any(slowing >= condition.slowing_percent for slowing in told) else None
