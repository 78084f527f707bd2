"""What a single cue changed when a test was repeated with it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from screen_tui.engine.alike import set_up_like
from screen_tui.engine.counting import counting
from screen_tui.engine.grade import ResultKey
from screen_tui.engine.measures import is_better_by, over_trials, trial_values
from screen_tui.engine.observe import Key, Observation, other
from screen_tui.engine.results import CueEffect, MeasureChange, Result
from screen_tui.protocol.lines import MDC95_OVER_SEM
from screen_tui.protocol.tests import ResultMeasure
from screen_tui.session.model import Client, Trial


def cue_effects(
    client: Client, observations: Mapping[Key, Observation], results: Mapping[ResultKey, Result]
) -> tuple[CueEffect, ...]:
    """Every cue that was tried, in the order of the protocol."""
    return tuple(
        cue_effect(client, observation, cue.id, observations, results)
        for observation in observations.values()
        for cue in observation.spec.cues
        if observation.plain and observation.with_cue(cue.id)
    )


def cue_effect(
    client: Client,
    observation: Observation,
    cue: str,
    observations: Mapping[Key, Observation],
    results: Mapping[ResultKey, Result],
) -> CueEffect:
    """What one cue did to the signs and to each measure of the test, set up in the same way.

    Hands may differ: not to need them any more is what a cue can do, and a higher seat is not.
    """
    cued = observation.with_cue(cue)
    spec = observation.spec
    before = _signs(set_up_like(spec, observation.plain, cued))
    after = _signs(set_up_like(spec, cued, observation.plain))
    opposite = observations.get((spec.id, other(observation.side)))
    changes = (
        _change(client, observation, cue, measure, opposite, results) for measure in spec.measures
    )
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
    client: Client,
    observation: Observation,
    cue: str,
    measure: ResultMeasure,
    opposite: Observation | None,
    results: Mapping[ResultKey, Result],
) -> MeasureChange | None:
    """The change of one measure; None where either value is missing or pain was in the way."""
    spec = observation.spec
    before = results.get((spec.id, observation.side, measure.id))
    made_of = counting(client, observation, opposite, measure)
    cued = set_up_like(spec, observation.with_cue(cue), made_of)
    fair = [trial for trial in cued if not trial.pain_limited]
    after = over_trials(measure, trial_values(spec, measure, fair, client, opposite))
    if before is None or before.value is None or after is None or observation.pain_limited:
        return None
    sem = spec.sem_of_change(measure.id)
    error = None if sem is None else sem * MDC95_OVER_SEM
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


def _signs(trials: Sequence[Trial]) -> set[str]:
    return {sign for trial in trials for sign in trial.signs}


def _verdict(better: float, error: float) -> str:
    if abs(better) < error:
        return "within error"
    return "better" if better > 0 else "worse"
