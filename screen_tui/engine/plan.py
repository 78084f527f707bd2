"""Step three: what to start, what to leave out for now, and what to test next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from screen_tui.engine.observe import Key, Observation
from screen_tui.engine.results import DriverResult, Left, Plan, Start
from screen_tui.engine.safety import PAIN_LIMIT, within_limits
from screen_tui.fields import Load
from screen_tui.protocol.knowledge import Exercise, LeaveOut
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Intake

MOST_EXERCISES = 5
PER_DRIVER = 4
SPOKEN_AGAINST = 0.05
"""The chance at or below which the findings speak clearly against a driver."""


def make_plan(
    protocol: ScreenProtocol,
    leading: Sequence[DriverResult],
    drivers: Sequence[DriverResult],
    observations: Mapping[Key, Observation],
    intake: Intake,
    loads: frozenset[Load],
) -> Plan:
    """A handful of exercises for the leading drivers, their side and the person's goals.

    Nothing is started when nothing leads. With two drivers the exercises are shared out.
    """
    if not leading:
        return Plan()
    shares = _shares(leading)
    start: list[Start] = []
    for entry, share in shares:
        chosen = _choose(protocol.exercises, entry.driver, intake, loads)[:share]
        start += [_start(exercise, entry) for exercise in chosen]
    leave_out = tuple(
        Left(item.id, item.name, item.reason, item.source)
        for item in protocol.leave_out
        if _applies(item, drivers, observations, intake, loads)
    )
    return Plan(tuple(start), leave_out)


def _shares(leading: Sequence[DriverResult]) -> list[tuple[DriverResult, int]]:
    """How many exercises each leading driver gets; both sides of one driver share one set."""
    if len(leading) == 2 and leading[0].driver != leading[1].driver:
        return [(leading[0], MOST_EXERCISES - 2), (leading[1], 2)]
    return [(leading[0], PER_DRIVER)]


def _choose(
    exercises: Sequence[Exercise], driver: str, intake: Intake, loads: frozenset[Load]
) -> list[Exercise]:
    """The driver's exercises that fit load, limits and goals, in order; without goals all fit.

    What is done instead of standing is chosen where standing is not allowed, or where the limits
    leave nothing of the standing work.
    """
    standing, goals = "both-legs" in loads, set(intake.goals)
    fitting = sorted(
        (
            exercise
            for exercise in exercises
            if exercise.driver == driver
            and exercise.load in loads
            and within_limits(intake, exercise.not_with)
            and (not exercise.goals or not goals or set(exercise.goals) & goals)
        ),
        key=lambda exercise: exercise.order,
    )
    upright = [exercise for exercise in fitting if not exercise.instead_of_standing]
    return upright if standing and upright else fitting


def _start(exercise: Exercise, entry: DriverResult) -> Start:
    return Start(
        exercise=exercise.id,
        driver=entry.driver,
        side=entry.side,
        name=exercise.name,
        position=exercise.position,
        dose=exercise.dose,
        cue=exercise.cue,
        feel=exercise.feel,
        stop=exercise.stop,
        progress_when=exercise.progress_when,
        progress_to=exercise.progress_to,
        source=exercise.source,
    )


def _applies(
    item: LeaveOut,
    drivers: Sequence[DriverResult],
    observations: Mapping[Key, Observation],
    intake: Intake,
    loads: frozenset[Load],
) -> bool:
    match item.when:
        case "always":
            return True
        case "no-standing":
            return "both-legs" not in loads
        case "no-one-leg":
            return "both-legs" in loads and "one-leg" not in loads
        case "limit":
            return item.limit in intake.precautions
        case "pain-over-5":
            return any((o.worst_pain or 0) > PAIN_LIMIT for o in observations.values())
        case "driver-spoken-against":
            return intake.recent_surgery_weeks is None and all(
                driver.chance <= SPOKEN_AGAINST
                for driver in drivers
                if driver.driver == item.driver
            )
