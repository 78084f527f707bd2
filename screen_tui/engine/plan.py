"""Step three: what to start, what to leave out for now, and what to test next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from statistics import fmean

from screen_tui.engine.conditions import Match
from screen_tui.engine.grade import ResultKey
from screen_tui.engine.observe import Key, Observation, sides_of
from screen_tui.engine.results import DriverWeight, Finding, Left, NextTest, Plan, Result, Start
from screen_tui.engine.safety import PAIN_LIMIT, within_limits
from screen_tui.engine.weigh import POSSIBLE, as_finding, weight_of
from screen_tui.fields import Load, Side
from screen_tui.protocol.knowledge import Exercise, LeaveOut
from screen_tui.protocol.model import Protocol
from screen_tui.protocol.tests import EvidenceRule, TestSpec
from screen_tui.session.model import Intake

MOST_EXERCISES = 5
PER_DRIVER = 4
SPOKEN_AGAINST = -POSSIBLE
"""Decibans: here the findings speak as clearly against a driver as `possible` does for it."""


def make_plan(
    protocol: Protocol,
    leading: Sequence[DriverWeight],
    drivers: Sequence[DriverWeight],
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


def _shares(leading: Sequence[DriverWeight]) -> list[tuple[DriverWeight, int]]:
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
                driver.weight <= SPOKEN_AGAINST and not driver.speaks_for
                for driver in drivers
                if driver.driver == item.driver
            )


MOST = 3


def suggestions(
    protocol: Protocol,
    drivers: Sequence[DriverWeight],
    findings: Sequence[Finding],
    observations: Mapping[Key, Observation],
    results: Mapping[ResultKey, Result],
) -> list[NextTest]:
    """Every untested item, and every cued repeat of a tested one, that could move the ranking.

    The expected change of an item is the mean, over the rules by which it can speak for or
    against the two drivers in front, of how far each would move the gap between the two.
    Each rule is taken as equally probable, since no figures are published.
    """
    front = _two_in_front(drivers)
    if front is None:
        return []
    offers = [
        _offer(protocol, spec, side, cue, rules, front, findings)
        for spec in protocol.tests
        for side in sides_of(spec)
        for cue, rules in _open_rules(spec, side, observations, results)
    ]
    return [offer for offer in offers if offer is not None and offer.expected_change > 0]


def best_of(offers: Iterable[NextTest]) -> tuple[NextTest, ...]:
    """The few that tell most per minute, best first."""
    return tuple(sorted(offers, key=lambda offer: -offer.per_minute)[:MOST])


def _two_in_front(
    drivers: Sequence[DriverWeight],
) -> tuple[DriverWeight, DriverWeight] | None:
    others = (driver for driver in drivers if driver.driver != drivers[0].driver)
    rival = next(others, None)
    return None if rival is None else (drivers[0], rival)


def _open_rules(
    spec: TestSpec,
    side: Side | None,
    observations: Mapping[Key, Observation],
    results: Mapping[ResultKey, Result],
) -> list[tuple[str, list[EvidenceRule]]]:
    """The rules that a test, or a repeat with one of its cues, could still fire."""
    done = observations.get((spec.id, side))
    if done is None or not done.plain:
        return [("", [rule for rule in spec.evidence if rule.when.cue is None])]
    return [
        (cue.id, rules)
        for cue in spec.cues
        if not done.with_cue(cue.id)
        if (rules := [rule for rule in spec.evidence if _can_tell(rule, cue.id, done, results)])
    ]


def _can_tell(
    rule: EvidenceRule, cue: str, done: Observation, results: Mapping[ResultKey, Result]
) -> bool:
    """Whether there is anything for the cue to change: one of its signs, or a short result."""
    if rule.when.cue != cue:
        return False
    if rule.when.change is not None:
        result = results.get((done.spec.id, done.side, rule.when.measure or ""))
        return result is not None and result.short
    return bool(done.signs & {*rule.when.cured, *rule.when.persists})


def _offer(
    protocol: Protocol,
    spec: TestSpec,
    side: Side | None,
    cue: str,
    rules: Sequence[EvidenceRule],
    front: tuple[DriverWeight, DriverWeight],
    findings: Sequence[Finding],
) -> NextTest | None:
    about = {driver.driver for driver in front}
    changes = [
        _gap_moved(as_finding(protocol, rule, spec.id, side, Match()), front, findings)
        for rule in rules
        if rule.driver in about
    ]
    if not changes:
        return None
    minutes = _minutes(spec, cue)
    expected = fmean(changes)
    names = " from ".join(protocol.driver(driver.driver).name for driver in front)
    return NextTest(
        test=spec.id,
        side=side,
        cue=cue,
        expected_change=expected,
        minutes=minutes,
        per_minute=expected / minutes,
        reason=f"tells {names}",
    )


def _minutes(spec: TestSpec, cue: str) -> float:
    return spec.minutes_a_side / spec.trials if cue else spec.minutes_a_side


def _gap_moved(
    new: Finding, front: tuple[DriverWeight, DriverWeight], findings: Sequence[Finding]
) -> float:
    """How far the gap between the two in front would move, either way, with the new finding."""
    about = next(driver for driver in front if driver.driver == new.driver)
    if new.side not in (None, about.side):
        return 0.0
    mine = [f for f in findings if f.driver == about.driver and f.side in (None, about.side)]
    return abs(weight_of([*mine, new]) - weight_of(mine))
