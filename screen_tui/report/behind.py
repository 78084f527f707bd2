"""Which trials stand behind a result, for views that tell more of them than their values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from screen_tui.engine.comparable import counting
from screen_tui.engine.observe import Key, Observation, other
from screen_tui.engine.results import Result
from screen_tui.protocol.tests import ResultMeasure, TestSpec
from screen_tui.report.result_facts import measure_of
from screen_tui.session.model import Client, Trial


def trials_behind(
    client: Client, seen: Mapping[Key, Observation], result: Result
) -> tuple[Trial, ...]:
    """The trials that make a result, or, where none has a value, all that were done plainly.

    Args:
        client: Whose result it is.
        seen: The session, observed by the protocol that gave the result.
        result: The result.
    """
    observation = seen.get((result.test, result.side))
    if observation is None:
        return ()
    measure = measure_of(observation.spec, result)
    if measure is None:
        return observation.plain
    opposite = seen.get((result.test, other(result.side))) if result.side else None
    return counting(client, observation, opposite, measure) or observation.plain


def at_least(spec: TestSpec | None, measure: ResultMeasure | None, values: Sequence[float]) -> bool:
    """Whether a result is only known to be no less: the clock stopped a hold at its full time.

    Args:
        spec: The test.
        measure: What was taken from it.
        values: The values of the trials that make the result, in order.
    """
    cap = None if spec is None else spec.timer.cap
    if measure is None or cap is None:
        return False
    if measure.taken_from != "value" or not values:
        return False
    capped = [value >= cap for value in values]
    # The best is full where any is, and a mean is too small where any was cut short.
    return {
        "best": any(capped),
        "mean": any(capped),
        "first": capped[0],
        "last": capped[-1],
    }[measure.over_trials]
