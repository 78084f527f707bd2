"""What to start, what to leave out for now, and what to examine that is no driver here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from screen_tui.engine import safety
from screen_tui.engine.conditions import Seen, criteria_seen, holds
from screen_tui.engine.results import (
    Assessment,
    DriverResult,
    Left,
    Plan,
    Pointer,
    PrecautionRaised,
    Start,
)
from screen_tui.fields import LEGS, Load, Side, same_leg
from screen_tui.protocol import knowledge
from screen_tui.session.model import TRIED_UNABLE, PlanEdit

Named = tuple[str, Side | None]
"""A driver and its side; None where it belongs to the person."""

SHARES = {1: (4,), 2: (3, 2), 3: (2, 2, 1)}
"""Exercises of each driver named, the best first."""

MOST_DRIVERS = 3
"""Drivers that exercises are started for: of a longer list less is done (common practice)."""

GENERAL = 4
"""Exercises where no driver is named."""

MOST_EXERCISES = 5
"""Exercises of a plan, but for those that a driver or a goal has no other of (common practice)."""

FOR_EVERYBODY = "for everybody with a sore knee, within the limits"

TOO_MUCH = {"not safe today", "too painful"}
"""Reasons for which a test was left out, and what is like it is not started."""

SPOKEN_AGAINST = 0.05
"""The chance at or below which the findings clearly speak against a driver (judgement)."""


def make_plan(allowed: Allowed, named: Sequence[Named], against: Collection[str] = ()) -> Plan:
    """A handful of exercises for the drivers named, their side and the person's goals.

    The first drivers named get their part, the best first, each on the first of its sides; others
    wait. Every goal gets an exercise of its own task, whatever the number. Where no driver is
    named, something general is started all the same. Where a helper is needed and there is none,
    the exercise is left out.
    ``against`` are drivers that the findings clearly speak against, on every side.
    """
    seen = allowed.seen
    protocol, goals = seen.protocol, seen.session.intake.goals
    sides: dict[str, list[Side | None]] = {}
    for driver, side in named:
        sides.setdefault(driver, []).append(side)
    parts = [
        _Part(driver, of[0], allowed.of_driver(driver, of[0]), set(of) == set(LEGS))
        for driver, of in list(sides.items())[:MOST_DRIVERS]
    ]
    general = _Part(None, None, allowed.of_driver(None, None))
    chosen = _shared_out(parts, general, goals) + _companions(parts, allowed)
    chosen = _each_task_once(chosen or _general(general, goals))
    beside = _beside(chosen, allowed)
    chosen = [*_shortened(chosen, goals, MOST_EXERCISES - len(beside)), *beside]
    start = tuple(_start(part, exercise, why, allowed) for part, exercise, why in chosen)
    after_surgery = (Left(rule.id, rule.name, rule.reason, rule.source) for rule in allowed.limits)
    leave_out = (
        Left(item.id, item.name, item.reason, item.source)
        for item in protocol.leave_out
        if _applies(item, allowed, against if parts else ())
    )
    waiting = (
        Left(driver.id, f"Exercises for {driver.name.lower()}", WAITS, "common-practice")
        for driver in protocol.drivers
        if driver.id in list(sides)[MOST_DRIVERS:]
    )
    drivers = {part.driver for part in parts}
    for_helper = (
        Left(one.id, one.name, NEEDS_HELPER, one.source)
        for one in protocol.exercises
        if one.id in allowed.not_alone and one.driver in drivers
    )
    return Plan(start, (*after_surgery, *leave_out, *for_helper, *waiting))


WAITS = "Three drivers come first; a longer list of exercises is done less."
NEEDS_HELPER = "It needs somebody near, and nobody is there at home."


def spoken_against(drivers: Sequence[DriverResult]) -> frozenset[str]:
    """The drivers that the findings clearly speak against on every side."""
    open_ones = {driver.driver for driver in drivers if driver.chance > SPOKEN_AGAINST}
    return frozenset(driver.driver for driver in drivers) - open_ones


@dataclass(frozen=True, slots=True)
class Allowed:
    """Which exercises this person may do.

    Attributes:
        precautions: What was raised of them.
        needs_helper: Exercises that are done only with somebody near.
        not_alone: Those of them that are left out since nobody is there at home.
        left_out: All that a precaution leaves out.
        limits: What is not done yet after surgery.
        no_effort: Doses are given without their effort.
    """

    seen: Seen
    loads: frozenset[Load]
    precautions: Sequence[PrecautionRaised]
    needs_helper: frozenset[str]
    not_alone: frozenset[str]
    left_out: frozenset[str]
    limits: Sequence[knowledge.LimitRule]
    no_effort: bool

    @classmethod
    def of(cls, seen: Seen, loads: frozenset[Load] | None = None) -> Allowed:
        """Those of a person after what was seen; of other ``loads`` only for trying it."""
        precautions = safety.precautions_raised(seen)
        raised = {one.id for one in precautions}
        rules = [rule for rule in seen.protocol.precautions if rule.id in raised]
        needs_helper = frozenset(exercise for rule in rules for exercise in rule.needs_helper)
        not_alone = needs_helper if seen.session.intake.alone_at_home else frozenset[str]()
        limits = safety.limits_after_surgery(seen.protocol, seen.session.intake)
        return cls(
            seen,
            safety.loads_left(seen) if loads is None else loads,
            precautions,
            needs_helper,
            not_alone,
            not_alone.union(*(rule.leave_out for rule in rules)),
            limits,
            any(one.no_effort for one in rules) or any(one.no_effort for one in limits),
        )

    def why_not(self, exercise: knowledge.Exercise) -> str:
        """Why load, limits or precautions rule an exercise out, in words; "" if they do not."""
        protocol, intake = self.seen.protocol, self.seen.session.intake
        if exercise.load not in safety.loads_allowed(protocol, intake):
            return "the weight-bearing now allowed rules it out"
        if exercise.load not in self.loads:
            return "the tests of this visit rule its load out"
        if set(exercise.not_with) & set(safety.limits_of(protocol, intake)):
            return "a limit set since then rules it out"
        if any(exercise.id in rule.exercises for rule in self.limits):
            return "it is too early after the surgery"
        return "a precaution leaves it out" if exercise.id in self.left_out else ""

    def of_driver(self, driver: str | None, side: Side | None) -> list[knowledge.Exercise]:
        """The driver's exercises that fit load, limits, goals and findings, in order.

        Without goals all fit. What is done instead of standing is chosen where standing is not
        allowed, or where the limits leave nothing of the standing work.
        """
        fitting = sorted(
            (
                exercise
                for exercise in self.seen.protocol.exercises
                if exercise.driver == driver and self._fits(exercise, side)
            ),
            key=lambda exercise: exercise.order,
        )
        upright = [exercise for exercise in fitting if not exercise.instead_of_standing]
        return upright if "both-legs" in self.loads and upright else fitting

    def _fits(self, exercise: knowledge.Exercise, side: Side | None) -> bool:
        session = self.seen.session
        goals = set(session.intake.goals)
        return (
            not self.why_not(exercise)
            and (
                exercise.driver is None
                or not (goals and exercise.goals)
                or not goals.isdisjoint(exercise.goals)
            )
            and (not exercise.after_retest or bool(session.follows))
            and not self._was_too_much(exercise, side)
            and all(self._met(one, side) for one in exercise.only_if)
            and not (
                "both-legs" in self.loads and any(self._met(one, side) for one in exercise.not_if)
            )
        )

    def _was_too_much(self, exercise: knowledge.Exercise, side: Side | None) -> bool:
        """Whether a test of it hurt too much, or was not possible or safe, on that leg."""
        impossible = set() if exercise.starts_easier else {"unable", TRIED_UNABLE}
        left_out = any(
            skip.test in exercise.tests
            and same_leg(side, skip.side)
            and skip.reason in TOO_MUCH | impossible
            for skip in self.seen.session.skipped
        )
        return left_out or any(
            same_leg(side, leg)
            and (
                seen.pain_limited
                or (seen.worst_pain or 0) > safety.PAIN_LIMIT
                or not seen.ended.isdisjoint({"unsafe"} | impossible)
            )
            for (test, leg), seen in self.seen.observations.items()
            if test in exercise.tests
        )

    def _met(self, criterion: knowledge.Criterion, side: Side | None) -> bool:
        return all(one.status == "met" for one in criteria_seen([criterion], side, self.seen))


@dataclass(frozen=True, slots=True)
class _Part:
    """A driver that is named, or None for everybody, with the exercises that it may have."""

    driver: str | None
    side: Side | None
    fitting: Sequence[knowledge.Exercise]
    both_legs: bool = False


_Chosen = tuple[_Part, knowledge.Exercise, str]
"""An exercise, the part it belongs to, and what it is for where that is not the driver."""


def _shared_out(parts: Sequence[_Part], general: _Part, goals: Sequence[str]) -> list[_Chosen]:
    """Each part's exercises: those of a goal's own task first of all, then by their order.

    A goal that no driver named has a task for gets one of those for everybody.
    """
    if not any(part.fitting for part in parts):
        return []
    tasks = _tasks([*parts, general], goals)
    chosen: list[_Chosen] = []
    for part, share in zip(parts, SHARES[len(parts)], strict=True):
        mine = [one for one in part.fitting if (part.driver, one.id) in tasks]
        done = [*mine, *(one for _, one, _ in chosen)]
        others = [one for one in _each_once(part.fitting, done) if one not in done]
        if not (mine or others):
            others = [*part.fitting[:1]]
        # A task alone does not treat the driver: its first exercise is always among them.
        room = max(share - len(mine), 0 if part.fitting[:1] == mine[:1] else 1)
        taken = [*mine, *others[:room]]
        chosen += [(part, one, "") for one in part.fitting if one in taken]
    chosen += [(general, one, FOR_EVERYBODY) for one in general.fitting if (None, one.id) in tasks]
    return chosen


def _twin_of(exercise: knowledge.Exercise, others: Iterable[knowledge.Exercise]) -> bool:
    """Whether all that is done in an exercise is done in others."""
    done = {task for one in others for task in one.tasks}
    return bool(exercise.tasks) and done.issuperset(exercise.tasks)


def _each_once(
    exercises: Sequence[knowledge.Exercise], taken: Sequence[knowledge.Exercise] = ()
) -> list[knowledge.Exercise]:
    """The exercises without those whose task comes before, or is that of one that is taken."""
    found: list[knowledge.Exercise] = []
    for one in exercises:
        if one in taken or not _twin_of(one, (*taken, *found)):
            found.append(one)
    return found


def _each_task_once(chosen: Sequence[_Chosen]) -> list[_Chosen]:
    """The same across drivers; one that would be left with nothing has its first exercise."""
    found: list[_Chosen] = []
    for one in chosen:
        if not _twin_of(one[1], (exercise for _, exercise, _ in found)):
            found.append(one)
    served = [part for part, _, _ in found]
    for one in chosen:
        if one[0].driver is not None and one[0] not in served:
            served.append(one[0])
            found.append(one)
    return [one for one in chosen if one in found]


def _tasks(parts: Sequence[_Part], goals: Sequence[str]) -> set[tuple[str | None, str]]:
    """For every goal one exercise of its task, of the first driver that has one."""
    found: set[tuple[str | None, str]] = set()
    for goal in goals:
        fitting = [
            (part.driver, one.id) for part in parts for one in part.fitting if goal in one.goals
        ]
        if fitting and not found & set(fitting):
            found.add(fitting[0])
    return found


def _general(general: _Part, goals: Sequence[str]) -> list[_Chosen]:
    """What is for everybody: a few of them, and whatever a goal asks for."""
    general = replace(general, fitting=_each_once(general.fitting))
    tasks = _tasks([general], goals)
    return [
        (general, one, FOR_EVERYBODY)
        for place, one in enumerate(general.fitting)
        if place < GENERAL or (None, one.id) in tasks
    ]


def _companions(parts: Sequence[_Part], allowed: Allowed) -> list[_Chosen]:
    """The furthest exercise allowed of a driver that goes with the plan for a named one."""
    named = {part.driver: part for part in parts}
    chosen: list[_Chosen] = []
    for rule in allowed.seen.protocol.companions:
        beside = named.get(rule.beside)
        if beside is None or rule.driver in named:
            continue
        if safety.arisen(rule.any_of, allowed.seen):
            fitting = allowed.of_driver(rule.driver, beside.side)
            part = _Part(rule.driver, beside.side, fitting)
            chosen += [(part, one, rule.reason) for one in fitting[-1:]]
    return chosen


def _shortened(chosen: Sequence[_Chosen], goals: Sequence[str], most: int) -> list[_Chosen]:
    """No more than so many, the last of the longest part left out first.

    Each part has its first exercise, and every goal one of its tasks, whatever the number.
    """
    left = list(chosen)

    def may_go(one: _Chosen) -> bool:
        part, exercise, _ = one
        others = [other for other in left if other is not one]
        first = next(other for other in left if other[0] is part)
        return first is not one and all(
            any(goal in other.goals for _, other, _ in others)
            for goal in set(exercise.goals) & set(goals)
        )

    while len(left) > most and (spare := [one for one in left if may_go(one)]):
        length = Counter(id(part) for part, _, _ in left)
        left.remove(max(reversed(spare), key=lambda one: length[id(one[0])]))
    return left


def _beside(chosen: Sequence[_Chosen], allowed: Allowed) -> list[_Chosen]:
    """What goes with any plan where findings look like something that is no driver.

    What is only for a finding is for the legs that have it.
    """
    looks_like = {one.id for one in _looked_like(allowed.seen)}
    started = {exercise.id for _, exercise, _ in chosen}
    found: list[_Chosen] = []
    for outside in allowed.seen.protocol.outside:
        wanted = set(outside.exercises) - started if outside.id in looks_like else set[str]()
        legs = {leg: allowed.of_driver(None, leg) for leg in LEGS}
        for one in allowed.seen.protocol.exercises:
            of = [leg for leg in LEGS if one.id in wanted and one in legs[leg]]
            if of:
                part = _Part(None, of[0] if one.only_if else None, (), of == [*LEGS])
                why = f"it may be {outside.name[0].lower()}{outside.name[1:]}"
                found.append((part, one, why))
    return found


def _start(part: _Part, exercise: knowledge.Exercise, why: str, allowed: Allowed) -> Start:
    words = ("name", "position", "cue", "feel", "stop", "progress_when", "progress_to")
    return Start(
        exercise=exercise.id,
        driver=part.driver or "",
        side=part.side,
        both_legs=part.both_legs,
        **{name: getattr(exercise, name) for name in words},
        dose=exercise.dose if allowed.no_effort else exercise.full_dose,
        source=exercise.source,
        why=why,
        with_helper=exercise.id in allowed.needs_helper,
    )


def _applies(item: knowledge.LeaveOut, allowed: Allowed, against: Collection[str]) -> bool:
    seen, loads, intake = allowed.seen, allowed.loads, allowed.seen.session.intake
    match item.when:
        case "always":
            return True
        case "no-standing":
            return "both-legs" not in loads
        case "no-one-leg":
            return "both-legs" in loads and "one-leg" not in loads
        case "limit":
            return item.limit in safety.limits_of(seen.protocol, intake)
        case "pain-over-5":
            return any((o.worst_pain or 0) > safety.PAIN_LIMIT for o in seen.observations.values())
        case "driver-spoken-against":
            return intake.recent_surgery_weeks is None and item.driver in against


# ------------------------------------------------------------------ as it was edited

OWN = "added by the clinician"


def edited(plan: Plan, edit: PlanEdit | None) -> Plan:
    """The plan without what was dropped, in another order, with other doses and own lines.

    What is suggested only since it was edited comes behind what was put in order.
    """
    if edit is None:
        return plan
    chosen = [one for one in in_order(plan.start, edit) if one.exercise not in edit.drop]
    doses = [replace(one, dose=edit.doses.get(one.exercise, one.dose)) for one in chosen]
    own = (Start(exercise="", driver="", side=None, name=line, why=OWN) for line in edit.own)
    return replace(plan, start=(*doses, *own))


def in_order(start: Iterable[Start], edit: PlanEdit) -> list[Start]:
    """Exercises as the clinician put them in order, those dropped among them; others behind."""
    place = {exercise: at for at, exercise in enumerate(edit.order)}
    return sorted(start, key=lambda one: place.get(one.exercise, len(place)))


# ------------------------------------------------------------------ as it was given


def as_given(allowed: Allowed, given: Plan, now: Assessment) -> tuple[Plan, tuple[str, ...]]:
    """The plan of a visit whose trials were corrected afterwards: what was planned that day.

    Only what is not safe as corrected is left out of it.

    Args:
        allowed: What the person may do, as corrected.
        given: The plan without the corrections.
        now: The assessment as corrected.

    Returns:
        The plan, and where it would now be another, a remark that says so.
    """
    if now.cautions:
        ended = "As corrected: A referral comes first, and the plan of that day holds no more: "
        return Plan(), ((f"{ended}tell the patient.",) if given.start else ())
    unsafe = {one.id for one in allowed.seen.protocol.exercises if allowed.why_not(one)}
    start = tuple(
        replace(one, with_helper=one.with_helper or one.exercise in allowed.needs_helper)
        for one in given.start
        if one.exercise not in unsafe
    )
    helped = [one for one in start if one.with_helper and one not in given.start]
    unsafe_then = [one for one in given.start if one.exercise in unsafe]
    also = [one for one in now.plan.start if not _in(start, one)]
    no_more = [one for one in start if one.exercise and not _in(now.plan.start, one)]
    text = (
        *_said("{} must be left out: tell the patient.", unsafe_then),
        *_said("{} only with somebody near: tell the patient.", helped),
        *_said("The plan would also start {}.", also),
        *_said("The plan would no longer start {}.", no_more),
        *(["Decide at the next visit."] if also or no_more else []),
    )
    return replace(given, start=start), ((f"As corrected: {' '.join(text)}",) if text else ())


def _in(plan: Iterable[Start], one: Start) -> bool:
    return any((other.exercise, other.side) == (one.exercise, one.side) for other in plan)


def _said(sentence: str, start: Sequence[Start]) -> list[str]:
    names = [f"{one.name} ({one.side})" if one.side else one.name for one in start]
    return [sentence.format("; ".join(names))] if names else []


# ------------------------------------------------------------------ outside the drivers


def pointers(seen: Seen, drivers: Sequence[DriverResult]) -> tuple[Pointer, ...]:
    """What findings look like beside the drivers, what answers point to, what was not measured."""
    return (*_looked_like(seen), *_answered(seen), *_not_measured(seen, drivers))


def _answers(seen: Seen) -> Iterator[tuple[knowledge.HistoryQuestion, knowledge.HistoryAnswer]]:
    for question in seen.protocol.history:
        given = seen.session.intake.history.get(question.id, ())
        yield from ((question, answer) for answer in question.answers if answer.id in given)


def _looked_like(seen: Seen) -> Iterator[Pointer]:
    for outside in seen.protocol.outside:
        because = [
            *_found(outside, seen),
            *(
                f"{question.label.lower()}: {answer.label}"
                for question, answer in _answers(seen)
                if answer.id in outside.answers.get(question.id, ())
            ),
        ]
        if len(because) >= outside.needs:
            yield Pointer(outside.id, outside.name, outside.examine, tuple(because), outside.source)


def _found(outside: knowledge.Outside, seen: Seen) -> Iterator[str]:
    for finding in outside.findings:
        for (test, side), observation in seen.observations.items():
            if test == finding.test and holds(finding.when, seen, observation):
                name = observation.spec.name.lower()
                yield f"{name}, {side}" if side else name


def _answered(seen: Seen) -> Iterator[Pointer]:
    for question, answer in _answers(seen):
        if answer.outside:
            yield Pointer(
                f"{question.id}-{answer.id}",
                f"{question.label}: {answer.label}",
                answer.outside,
                (),
                answer.source or "clinical-judgement",
            )


def _not_measured(seen: Seen, drivers: Sequence[DriverResult]) -> Iterator[Pointer]:
    """What the findings speak against on the leg complained of although it was not measured."""
    for driver in seen.protocol.drivers:
        rule = driver.unless
        if rule is None or seen.session.client.age > rule.to_age:
            continue
        if any(
            one.driver == driver.id
            and one.standing == "not-supported"
            and seen.session.intake.complains_of(one.side)
            and not any(seen.done(test, one.side) for test in rule.tests)
            for one in drivers
        ):
            name = f"{driver.name} not measured"
            yield Pointer(f"{driver.id}-not-measured", name, rule.words, (), driver.source)
