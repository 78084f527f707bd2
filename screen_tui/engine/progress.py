"""What was started at an earlier visit: which criteria the later numbers meet; the next step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from screen_tui.engine.change import Change, compare
from screen_tui.engine.conditions import Seen
from screen_tui.engine.observe import sides_of
from screen_tui.engine.results import Assessment, Start
from screen_tui.engine.safety import PAIN_LIMIT, loads_allowed, within_limits
from screen_tui.fields import Side
from screen_tui.protocol.criteria import Criterion
from screen_tui.protocol.knowledge import Exercise
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Session

CriterionStatus = Literal["met", "not yet", "not tested"]
Step = Literal["up", "stay", "down", "ask"]


@dataclass(frozen=True, slots=True)
class CriterionSeen:
    """One criterion against the later visit.

    ``value`` is the number it was read from, ``why`` what is short of it or keeps it from being
    read; empty when met.
    """

    criterion: Criterion
    side: Side | None
    value: float | None
    status: CriterionStatus
    why: str


@dataclass(frozen=True, slots=True)
class Progress:
    """What became of one exercise of the earlier plan.

    Attributes:
        start: As it was started.
        criteria: Those the numbers can tell; empty where the words name none.
        step: ``up``: on to ``progress_to``; ``stay``; ``down``: to the easier one; ``ask``: the
            tests do not tell, so ask and watch.
        why: Why that step.
        easier: For a step down, the exercise of the same driver below it; None where the protocol
            has none that fits.
    """

    start: Start
    criteria: tuple[CriterionSeen, ...]
    step: Step
    why: str
    easier: Exercise | None = None


def progress_of(
    protocol: Protocol, earlier: Session, plan: Assessment, later: Session
) -> tuple[Progress, ...]:
    """What the later visit tells about each exercise started at the earlier one.

    The criteria are read from tests of one day. What else the words ask for, such as two days or
    no rail, is for the clinician to see.

    Args:
        protocol: Has the exercises with their criteria.
        earlier: The visit at which they were started.
        plan: What the earlier visit came to: ``assess(protocol, earlier)``.
        later: The visit that is to tell.
    """
    seen = Seen.of(protocol, later)
    changes = compare(protocol, earlier, later)
    return tuple(_progress(protocol, start, seen, changes, later) for start in plan.plan.start)


def _progress(
    protocol: Protocol, start: Start, seen: Seen, changes: Sequence[Change], later: Session
) -> Progress:
    exercise = next((one for one in protocol.exercises if one.id == start.exercise), None)
    asked = exercise.progress_if if exercise is not None else ()
    criteria = tuple(
        _criterion(protocol, criterion, side, seen)
        for criterion in asked
        for side in _sides(protocol, criterion, start.side)
    )
    against = _speaks_against(exercise, criteria, seen, changes, later)
    if against:
        return Progress(start, criteria, "down", against, _easier(protocol, exercise, later))
    if any(one.status == "not yet" for one in criteria):
        return Progress(start, criteria, "stay", "the criterion is not met yet")
    if not criteria:
        return Progress(start, criteria, "ask", "no test measures this criterion")
    if any(one.status == "not tested" for one in criteria):
        return Progress(start, criteria, "ask", "the test that would tell gave no number")
    return Progress(start, criteria, "up", "the tests of this visit meet it")


def _sides(protocol: Protocol, criterion: Criterion, side: Side | None) -> Sequence[Side | None]:
    """The sides a criterion is read on: that of the driver, or every one there is."""
    spec = protocol.known_test(criterion.test)
    if spec is None or not spec.sided:
        return (None,)
    return (side,) if side else sides_of(spec)


def _criterion(
    protocol: Protocol, criterion: Criterion, side: Side | None, seen: Seen
) -> CriterionSeen:
    result = seen.results.get((criterion.test, side, criterion.measure))
    observation = seen.observations.get((criterion.test, side))

    def told(status: CriterionStatus, why: str = "") -> CriterionSeen:
        value = None if result is None else result.value
        return CriterionSeen(criterion, side, value, status, why)

    if result is None or observation is None:
        return told("not tested", "not tested")
    if observation.pain_limited:
        return told("not yet", "pain limited every trial")
    if result.value is None:
        return told("not tested", result.why_not or "no value was recorded")
    if criterion.standing is not None:
        if result.standing == "not judged":
            return told("not tested", f"not judged: {result.why_not}")
        if result.short:
            return told("not yet", "short of the line")
    if criterion.at_least is not None and result.value < criterion.at_least:
        return told("not yet", f"below {criterion.at_least:g} {result.unit}")
    if criterion.at_most is not None and result.value > criterion.at_most:
        return told("not yet", f"above {criterion.at_most:g} {result.unit}")
    labels = {sign.id: sign.label.lower() for sign in protocol.signs}
    stray = [sign for sign in criterion.signs_none if sign in observation.signs]
    if stray:
        return told("not yet", ", ".join(labels.get(sign, sign) for sign in stray))
    if criterion.max_pain is not None and (observation.worst_pain or 0) > criterion.max_pain:
        return told("not yet", f"pain {observation.worst_pain} of 10")
    return told("met")


def _speaks_against(
    exercise: Exercise | None,
    criteria: Sequence[CriterionSeen],
    seen: Seen,
    changes: Sequence[Change],
    later: Session,
) -> str:
    """Why to step down; empty where nothing asks for it. What asks for it is clinical judgement."""
    if exercise is not None and exercise.load not in loads_allowed(later.intake):
        return "the weight-bearing now allowed rules it out"
    if exercise is not None and not within_limits(later.intake, exercise.not_with):
        return "a limit set since then rules it out"
    for one in criteria:
        observation = seen.observations.get((one.criterion.test, one.side))
        if observation is not None and (observation.worst_pain or 0) > PAIN_LIMIT:
            return f"pain above {PAIN_LIMIT} of 10 in {observation.spec.name.lower()}"
        for change in changes:
            same = (change.test, change.side, change.measure)
            read_from = (one.criterion.test, one.side, one.criterion.measure)
            if same == read_from and change.verdict == "worse":
                return f"{change.label.lower()} worse beyond error"
    return ""


def _easier(protocol: Protocol, exercise: Exercise | None, later: Session) -> Exercise | None:
    """The nearest exercise of the same driver below this one that is allowed now."""
    if exercise is None:
        return None
    loads = loads_allowed(later.intake)
    below = [
        one
        for one in protocol.exercises
        if one.driver == exercise.driver
        and one.order < exercise.order
        and one.load in loads
        and within_limits(later.intake, one.not_with)
        and not (one.instead_of_standing and "both-legs" in loads)
    ]
    return max(below, key=lambda one: one.order, default=None)
