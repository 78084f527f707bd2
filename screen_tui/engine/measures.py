"""From trials to numbers: the value of a measure, slowing in a series, side difference, power."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from statistics import fmean

from screen_tui.engine.observe import Observation, aid_of
from screen_tui.fields import SetUpId
from screen_tui.protocol.tests import ResultMeasure, TestSpec
from screen_tui.session.model import Client, Trial

GRAVITY = 9.81
"""Metres per second squared."""

SHARE_LIFTED = 0.9
"""Of body mass: the feet and shanks stay down."""

LEG_OF_HEIGHT = 0.5
"""Length of the leg as a share of height."""

RISING_SHARE = 0.5
"""Of the time of a cycle: the other half goes into sitting down."""

LEAST_LIFT_M = 0.20
"""With a shorter way up, a centimetre of seat height would decide the result (judgement)."""


def rise_power_watts(
    mass_kg: float, height_cm: float, seat_cm: float, seconds: float, rises: float
) -> float | None:
    """Mean power of the rising phase over a number of whole cycles, in watts.

    P = 0.9 m g (0.5 height - seat) / (0.5 time / rises). The form is that of Alcazar and others
    2018, Exp Gerontol 112:38-43 (its three assumptions seen, the equation from memory). None where
    the way up is below 20 cm or nothing was done.
    """
    lift_m = (LEG_OF_HEIGHT * height_cm - seat_cm) / 100
    if lift_m < LEAST_LIFT_M or rises <= 0 or seconds <= 0:
        return None
    return mass_kg * SHARE_LIFTED * GRAVITY * lift_m / (RISING_SHARE * seconds / rises)


def stair_power_watts(mass_kg: float, riser_cm: float, steps: int, seconds: float) -> float | None:
    """Mean power of climbing a flight, in watts: weight times height climbed over time."""
    if seconds <= 0:
        return None
    return mass_kg * GRAVITY * riser_cm / 100 * steps / seconds


HANDS_USED, HANDRAIL = "hands-used", "handrail"
"""Signs that change what a number means."""


def trial_values(
    observation: Observation, measure: ResultMeasure, trials: Sequence[Trial]
) -> tuple[float, ...]:
    """The measure in each of the trials that yields one, in order and in the measure's unit."""
    if measure.taken_from == "points":
        return (float(sign_points(observation.spec, trials)),) if trials else ()
    found = (_of_trial(observation, measure, trial) for trial in trials)
    return tuple(value for value in found if value is not None)


def yielding(
    observation: Observation, measure: ResultMeasure, trials: Sequence[Trial]
) -> tuple[Trial, ...]:
    """Those of the trials that yield the measure."""
    if measure.taken_from == "points":
        return tuple(trials)
    return tuple(one for one in trials if _of_trial(observation, measure, one) is not None)


def _of_trial(observation: Observation, measure: ResultMeasure, trial: Trial) -> float | None:
    spec, client = observation.spec, observation.client
    match measure.taken_from:
        case "value":
            return trial.value
        case "speed":
            return None if trial.value is None else spec.timer.speed(trial.value)
        case "time-up" | "time-down":
            return trial.value if measure.taken_from == f"time-{trial.direction}" else None
        case "passive":
            return trial.passive_deg
        case "lag":
            if trial.passive_deg is None or trial.active_deg is None:
                return None
            return trial.active_deg - trial.passive_deg
        case "deficit":
            passive = trial.passive_deg
            return None if passive is None else max(0.0, passive - observation.aim)
        case "behind-other":
            fair = [one.value for one in observation.opposite if not one.pain_limited]
            others = [value for value in fair if value is not None]
            if trial.value is None or not others:
                return None
            return max(0.0, max(others) - trial.value)
        case "repetitions":
            return _repetitions(spec, trial)
        case "rise-power":
            return _rise_power(spec, trial, client)
        case "stair-power":
            return _stair_power(trial, client)
        case "points":
            return None


def _repetitions(spec: TestSpec, trial: Trial) -> float | None:
    """How many were done: all where there is a time, none where it ended before the first."""
    if trial.splits:
        return float(len(trial.splits))
    if trial.value is None:
        return 0.0 if trial.ended else None
    wanted = spec.timer.wanted(trial.steps)
    return None if wanted is None else float(wanted)


def set_up_of(spec: TestSpec, trial: Trial, condition: SetUpId) -> float | str | None:
    """How a trial was set up: as noted, else as usual for the test; None where neither says."""
    usual = next((known.usual for known in spec.set_up if known.id == condition), None)
    if condition == "aid":
        return aid_of(trial, usual if isinstance(usual, str) else None)
    noted = trial.set_up(condition)
    return usual if noted is None else noted


def _rise_power(spec: TestSpec, trial: Trial, client: Client) -> float | None:
    """Watts per kilogram; None with hands, or without height, mass, seat or whole cycles."""
    seat = set_up_of(spec, trial, "seat_cm")
    if client.height_cm is None or client.mass_kg is None or not isinstance(seat, float | int):
        return None
    if trial.value is None or HANDS_USED in trial.signs:
        return None
    rising = spec.timer.rising(trial.value)
    if rising is None:
        return None
    seconds, rises = rising
    watts = rise_power_watts(client.mass_kg, client.height_cm, seat, seconds, rises)
    return None if watts is None else watts / client.mass_kg


def _stair_power(trial: Trial, client: Client) -> float | None:
    """Watts per kilogram going up without the rail; None without mass, steps or riser.

    The riser must have been measured: the usual one would decide the result.
    """
    riser = trial.riser_cm
    if client.mass_kg is None or trial.value is None or riser is None:
        return None
    if trial.direction != "up" or trial.steps is None or HANDRAIL in trial.signs:
        return None
    watts = stair_power_watts(client.mass_kg, riser, trial.steps, trial.value)
    return None if watts is None else watts / client.mass_kg


def sign_points(spec: TestSpec, trials: Sequence[Trial]) -> int:
    """The published sum over signs; of each group of signs only the most counts."""
    if spec.points is None:
        return 0
    seen = {sign for trial in trials for sign in trial.signs}
    return sum(
        max((points for sign, points in group.items() if sign in seen), default=0)
        for group in spec.points.groups
    )


def over_trials(measure: ResultMeasure, values: Sequence[float]) -> float | None:
    """The one value that stands for the trials, by the rule of the measure."""
    if not values:
        return None
    match measure.over_trials:
        case "best" | "worst":
            most = (measure.over_trials == "best") == (measure.better == "higher")
            return max(values) if most else min(values)
        case "mean":
            return fmean(values)
        case "first":
            return values[0]
        case "last":
            return values[-1]


def slowing_percent(spec: TestSpec, trials: Sequence[Trial]) -> float | None:
    """How much longer the last third of the repetitions takes than the first third, in percent.

    The mean over the trials with at least six repetitions or steps; None when there is none.
    The thirds and the six are common practice, no source: fewer repetitions tell noise.
    """
    if spec.timer.split_least is None:
        return None
    found = [_slowing(trial) for trial in trials if len(trial.splits) >= 6]
    known = [slowing for slowing in found if slowing is not None]
    return fmean(known) if known else None


def _slowing(trial: Trial) -> float | None:
    each = [later - earlier for earlier, later in pairwise((0.0, *trial.splits))]
    third = len(each) // 3
    first, last = fmean(each[:third]), fmean(each[-third:])
    return None if first <= 0 else (last / first - 1) * 100


def worse_by_percent(measure: ResultMeasure, this: float, other: float) -> float | None:
    """How much worse this side is, as a share of the other side's value; None where that is 0."""
    if other <= 0:
        return None
    return is_better_by(measure, this, other) / other * 100


def symmetry_percent(measure: ResultMeasure, left: float, right: float) -> float | None:
    """The worse side as a share of the better one; None where it cannot be computed.

    The limb symmetry index, inverted for times so that higher is always better.
    """
    if measure.taken_from not in ("value", "speed") or left <= 0 or right <= 0:
        return None
    return min(left, right) / max(left, right) * 100


def is_better_by(measure: ResultMeasure, before: float, after: float) -> float:
    """How far the measure improved from before to after; negative when it got worse."""
    return after - before if measure.better == "higher" else before - after
