"""Step three: what to start, what to leave out for now, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from screen_tui.engine.observe import Key, Observation
from screen_tui.engine.results import DriverWeight, Left, Plan, Start
from screen_tui.protocol.base import Goal, Load
from screen_tui.protocol.knowledge import Exercise, LeaveOut
from screen_tui.protocol.whole import Protocol

MOST_EXERCISES = 5
PER_DRIVER = 4
PAIN_LIMIT = 5
"""Pain above this, of 10, is high risk (Ageberg 2010, BMC Musculoskelet Disord 11:126)."""


def make_plan(
    protocol: Protocol,
    leading: Sequence[DriverWeight],
    drivers: Sequence[DriverWeight],
    observations: Mapping[Key, Observation],
    goals: tuple[Goal, ...],
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
        fitting = [e for e in protocol.exercises if e.driver == entry.driver and e.load in loads]
        for exercise in sorted(fitting, key=lambda e: _rank(e, goals))[:share]:
            start.append(_start(exercise, entry))
    leave_out = tuple(
        Left(item.id, item.name, item.reason, item.source)
        for item in protocol.leave_out
        if _applies(item, drivers, observations, loads)
    )
    return Plan(tuple(start), leave_out)


def _shares(leading: Sequence[DriverWeight]) -> list[tuple[DriverWeight, int]]:
    """How many exercises each leading driver gets; both sides of one driver share one set."""
    if len(leading) == 2 and leading[0].driver != leading[1].driver:
        return [(leading[0], MOST_EXERCISES - 2), (leading[1], 2)]
    return [(leading[0], PER_DRIVER)]


def _rank(exercise: Exercise, goals: tuple[Goal, ...]) -> tuple[bool, int]:
    """Those for the person's goals, and those for any goal, come first; then by their order."""
    fits = not exercise.goals or bool(set(exercise.goals) & set(goals)) or not goals
    return (not fits, exercise.order)


def _start(exercise: Exercise, entry: DriverWeight) -> Start:
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
    drivers: Sequence[DriverWeight],
    observations: Mapping[Key, Observation],
    loads: frozenset[Load],
) -> bool:
    match item.when:
        case "always":
            return True
        case "not-loaded":
            return "one-leg" not in loads
        case "pain-over-5":
            return any((o.worst_pain or 0) > PAIN_LIMIT for o in observations.values())
        case "driver-not-leading":
            weights = [driver for driver in drivers if driver.driver == item.driver]
            tested = any(driver.speaks_for or driver.speaks_against for driver in weights)
            return tested and all(driver.weight <= 0 for driver in weights)
