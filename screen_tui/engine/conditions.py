"""All that was seen in a session, whether a condition holds for it, and what a cue changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Literal

from screen_tui.engine.comparable import counting, with_set_up_of
from screen_tui.engine.grade import ResultKey, grade
from screen_tui.engine.measures import is_better_by, over_trials, trial_values, worse_by_percent
from screen_tui.engine.observe import Key, Observation, observe, other, sides_of
from screen_tui.engine.results import OR_NULL, CueEffect, MeasureChange, Result, to
from screen_tui.fields import Side
from screen_tui.protocol.evidence import Condition
from screen_tui.protocol.knowledge import Criterion
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import MDC95_OVER_SEM, ResultMeasure
from screen_tui.session.model import Session, Trial


@dataclass(frozen=True)
class Seen:
    """All that was seen and graded in a session, which is as its addenda amend it."""

    protocol: ScreenProtocol
    session: Session
    observations: Mapping[Key, Observation]
    results: Mapping[ResultKey, Result]

    @classmethod
    def of(cls, protocol: ScreenProtocol, session: Session) -> Seen:
        """Observe and grade a session, once for all who ask."""
        observations = observe(protocol, session)
        return cls(protocol, session.as_amended, observations, grade(protocol, observations))

    @cached_property
    def effects(self) -> tuple[CueEffect, ...]:
        """What every cue that was tried changed, in the order of the protocol."""
        return tuple(
            _cue_effect(self, observation, cue.id)
            for observation in self.observations.values()
            for cue in observation.spec.cues
            if observation.plain and observation.with_cue(cue.id)
        )

    def result(self, observation: Observation, measure: str | None) -> Result | None:
        return self.results.get((observation.spec.id, observation.side, measure or ""))

    def value(self, observation: Observation | None, measure: str | None) -> float | None:
        result = self.result(observation, measure) if observation else None
        return result.value if result else None

    def opposite(self, observation: Observation) -> Observation | None:
        """The same test on the other leg; None where it was not done or has no sides."""
        there = other(observation.side)
        return self.observations.get((observation.spec.id, there)) if there else None

    def done(self, test: str, side: Side | None) -> Observation | None:
        """What was seen in a test that was done without a cue; None where it was not."""
        observation = self.observations.get((test, side))
        return observation if observation is not None and observation.plain else None


def holds(condition: Condition, seen: Seen, observation: Observation) -> bool:
    """Whether the condition holds for an observation; a two-legged test counts as both sides."""
    return all(
        one is not None and bool(one.plain) and all(part(condition, seen, one) for part in _PARTS)
        for one in _asked(condition, seen, observation)
    )


def only_in_pain(condition: Condition, seen: Seen, observation: Observation) -> bool:
    """Whether the signs of a condition that holds were seen on a leg in pain only."""
    wanted = set(condition.signs_any)
    return bool(wanted) and any(
        all(trial.pain_limited or wanted.isdisjoint(trial.signs) for trial in one.plain)
        for one in _asked(condition, seen, observation)
        if one is not None
    )


def _asked(
    condition: Condition, seen: Seen, observation: Observation
) -> tuple[Observation | None, ...]:
    """What a condition asks of: one leg, or both, of which the other may not have been tested."""
    if not condition.both_sides or observation.side is None:
        return (observation,)
    return observation, seen.opposite(observation)


def _signs(condition: Condition, _seen: Seen, observation: Observation) -> bool:
    wanted, signs = condition.signs_any, observation.signs
    return signs.isdisjoint(condition.signs_none) and not (wanted and signs.isdisjoint(wanted))


def _ended(condition: Condition, _seen: Seen, observation: Observation) -> bool:
    return not condition.ended_any or not observation.ended.isdisjoint(condition.ended_any)


def _measure(condition: Condition, seen: Seen, observation: Observation) -> bool:
    if condition.standing is None and condition.at_least is None and condition.at_most is None:
        return True
    result = seen.result(observation, condition.measure)
    if result is None or result.value is None:
        return False
    if condition.at_least is not None and result.value < condition.at_least:
        return False
    if condition.at_most is not None and result.value > condition.at_most:
        return False
    if condition.standing is None:
        return not observation.pain_limited
    return result.standing != "not judged" and result.short == (condition.standing != "meets")


def _side_difference(condition: Condition, seen: Seen, observation: Observation) -> bool:
    percent, least = condition.worse_than_other_percent, condition.worse_than_other_by
    if percent is None and least is None:
        return True
    opposite = seen.opposite(observation)
    here, there = (
        seen.value(observation, condition.measure),
        seen.value(opposite, condition.measure),
    )
    if opposite is None or here is None or there is None:
        return False
    if observation.pain_limited or opposite.pain_limited:
        return False
    measure = observation.spec.measure(condition.measure or "")
    if least is not None:
        return is_better_by(measure, here, there) >= least
    worse = worse_by_percent(measure, here, there)
    return worse is not None and worse >= (percent or 0.0)


def _other_way(condition: Condition, seen: Seen, observation: Observation) -> bool:
    if condition.slower_than is None:
        return True
    this = seen.value(observation, condition.measure)
    other = seen.value(observation, condition.slower_than)
    if this is None or other is None:
        return False
    return this >= other * (1 + (condition.by_percent or 0) / 100)


def _slowing(condition: Condition, seen: Seen, observation: Observation) -> bool:
    least = condition.slowing_percent
    results = (seen.result(observation, measure.id) for measure in observation.spec.measures)
    return least is None or any(
        one.slowing_percent >= least for one in results if one and one.slowing_percent is not None
    )


_PARTS = (_signs, _ended, _measure, _side_difference, _other_way, _slowing)


# ------------------------------------------------------------------ criteria of exercises


@dataclass(frozen=True, slots=True)
class CriterionSeen:
    """One criterion against what was seen: the number it was read from, and why it is not met.

    Limited by pain it is unknown: neither met nor failed.
    """

    criterion: Criterion
    side: Side | None
    value: Annotated[float | None, to(2)]
    status: Literal["met", "not yet", "not tested", "unknown"]
    why: Annotated[str, OR_NULL]


def criteria_seen(
    criteria: Sequence[Criterion], side: Side | None, seen: Seen
) -> tuple[CriterionSeen, ...]:
    """Criteria of an exercise against what was seen, each on that leg, or on both for None."""
    found: list[CriterionSeen] = []
    for one in criteria:
        spec = seen.protocol.known_test(one.test)
        both: Sequence[Side | None] = sides_of(spec) if spec else (None,)
        legs = (side,) if side and spec and spec.sided else both
        found += [_criterion_seen(one, leg, seen) for leg in legs]
    return tuple(found)


def _criterion_seen(criterion: Criterion, side: Side | None, seen: Seen) -> CriterionSeen:
    result = seen.results.get((criterion.test, side, criterion.measure))
    observation = seen.observations.get((criterion.test, side))

    def seen_as(
        status: Literal["met", "not yet", "not tested", "unknown"], why: str = ""
    ) -> CriterionSeen:
        value = None if result is None else result.value
        return CriterionSeen(criterion, side, value, status, why)

    if result is None or observation is None:
        return seen_as("not tested", "not tested")
    if observation.pain_limited:
        return seen_as("unknown", "pain limited every trial")
    if result.value is None:
        return seen_as("not tested", result.why_not or "no value was recorded")
    if criterion.standing is not None:
        if result.standing == "not judged":
            return seen_as("not tested", f"not judged: {result.why_not}")
        if result.short:
            return seen_as("not yet", "worse than the cut-off")
    if criterion.at_least is not None and result.value < criterion.at_least:
        return seen_as("not yet", f"below {criterion.at_least:g} {result.unit}")
    if criterion.at_most is not None and result.value > criterion.at_most:
        return seen_as("not yet", f"above {criterion.at_most:g} {result.unit}")
    stray = [sign for sign in criterion.signs_none if sign in observation.signs]
    if stray:
        labels = (seen.protocol.sign(sign).label.lower() for sign in stray)
        return seen_as("not yet", ", ".join(labels))
    if criterion.max_pain is not None and (observation.worst_pain or 0) > criterion.max_pain:
        return seen_as("not yet", f"pain {observation.worst_pain} of 10")
    return seen_as("met")


# ------------------------------------------------------------------ cues


def _cue_effect(seen: Seen, observation: Observation, cue: str) -> CueEffect:
    """What one cue did to the signs and to each measure of the test, set up in the same way.

    Hands may differ: not to need them any more is what a cue can do, and a higher seat is not.
    """
    cued = observation.with_cue(cue)
    spec = observation.spec
    before = _signs_in(with_set_up_of(spec, observation.plain, cued))
    after = _signs_in(with_set_up_of(spec, cued, observation.plain))
    changes = (_change(seen, observation, cue, measure) for measure in spec.measures)
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
    seen: Seen, observation: Observation, cue: str, measure: ResultMeasure
) -> MeasureChange | None:
    """The change of one measure; None where either value is missing or pain was in the way."""
    spec = observation.spec
    before = seen.result(observation, measure.id)
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
    verdict = "better" if better > 0 else "worse"
    if error is None:
        verdict = "not judged"
    elif abs(better) < error:
        verdict = "within error"
    return MeasureChange(
        measure=measure.id,
        label=measure.label,
        unit=measure.unit,
        decimals=measure.decimals,
        before=before.value,
        after=after,
        error=error,
        verdict=verdict,
    )


def _signs_in(trials: Sequence[Trial]) -> set[str]:
    return {sign for trial in trials for sign in trial.signs}
