"""The visits of a patient: each number over them, what moved the answer, what became of a plan."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

from screen_tui.engine.assess import assess
from screen_tui.engine.change import (
    Change,
    ErrorUsed,
    Number,
    Reading,
    change_of,
    compare,
    digest_remarks,
    errors_of_change,
    fields_of,
    measures_of,
    readings_of,
    worth_telling,
)
from screen_tui.engine.conditions import CriterionSeen, Seen, criteria_seen
from screen_tui.engine.plan import Allowed
from screen_tui.engine.results import HIDDEN, Assessment, Finding, LineUsed, Start
from screen_tui.engine.safety import PAIN_LIMIT
from screen_tui.fields import Side
from screen_tui.protocol.knowledge import Exercise
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import ResultMeasure, TestSpec
from screen_tui.session.model import Session, label_key

MOST_VISITS = 12
"""As many as a table and a chart can show: the first, and the latest of the others."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit, counted from 1 over all of the patient, and what is not as usual about it."""

    number: int
    session: Session
    assessment: Assessment
    marks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DataPoint:
    """What one visit measured, against the first visit with a number and the last such before.

    The changes are None where there is none such, or where this visit has no number.
    """

    reading: Reading
    since_first: Change | None
    since_previous: Change | None


@dataclass(frozen=True, slots=True)
class MeasureSeries(Number):
    """One number, with a point for each visit shown.

    Attributes:
        line: The line the latest number was judged by; None where none was.
        error: What changes are held against; None where none is published.
    """

    line: LineUsed | None
    error: ErrorUsed | None
    points: Annotated[tuple[DataPoint, ...], HIDDEN]

    @property
    def measured(self) -> tuple[int, ...]:
        """The places of the points that have a number."""
        return tuple(i for i, one in enumerate(self.points) if one.reading.value is not None)


@dataclass(frozen=True, slots=True)
class History:
    """All that the visits of a patient show.

    Attributes:
        visits: The visits shown, at most `MOST_VISITS`.
        left_out: How many visits between the first and the next one shown are not shown.
    """

    visits: tuple[Visit, ...]
    series: tuple[MeasureSeries, ...]
    left_out: int
    remarks: tuple[str, ...]

    @property
    def compared(self) -> tuple[int, ...]:
        """The places of the visits that can be compared; where none can, of all."""
        able = tuple(i for i, one in enumerate(self.visits) if can_be_compared(one.session))
        return able or tuple(range(len(self.visits)))


def can_be_compared(session: Session) -> bool:
    """Whether any trial of it counts: one that was begun and left says nothing of the person."""
    return any(trial.counts for trial in session.as_amended.trials)


def visits_of(sessions: Iterable[Session]) -> tuple[tuple[Session, ...], ...]:
    """The sessions of each patient in order of their start; patients by their code.

    Invented people are never mixed with others of the same code, and come behind them.
    """
    groups: dict[tuple[str, bool], list[Session]] = {}
    for session in sorted(sessions, key=lambda one: (one.started, one.id)):
        groups.setdefault((label_key(session.client.label), session.synthetic), []).append(session)
    return tuple(tuple(mine) for _, mine in sorted(groups.items()))


def marks_of(session: Session, others: Sequence[Session]) -> tuple[str, ...]:
    """What is not as usual about a session, one of the sessions of the same patient."""
    marks = []
    original = re.sub(r"-copy-\d+$", "", session.id)
    if original != session.id and any(one.id == original for one in others):
        marks.append(f"a second file of session {original}")
    if session.stopped:
        marks.append(f"stopped: {session.stopped.rstrip('.')}")
    elif session.finished is None:
        marks.append("not finished")
    if not session.trials:
        marks.append("no trial")
    elif not can_be_compared(session):
        marks.append("every trial void")
    if session.addenda:
        changed = any(addendum.changes_a_trial for addendum in session.addenda)
        marks.append("corrected afterwards" if changed else "added to afterwards")
    return tuple(marks)


def history_of(protocol: ScreenProtocol, every: Sequence[Session]) -> History:
    """Everything the sessions of a patient show, in order and one at least, by today's protocol."""
    shown = every if len(every) <= MOST_VISITS else (every[0], *every[-(MOST_VISITS - 1) :])
    judged = tuple(
        Visit(every.index(one) + 1, one, assess(protocol, one), marks_of(one, every))
        for one in shown
    )
    lines = {
        (result.test, result.side, result.measure): result.line
        for visit in judged
        for result in visit.assessment.results
        if result.line
    }
    readings = [readings_of(protocol, one) for one in shown]
    series = []
    for spec, side, measure in measures_of(protocol):
        place = spec.id, side, measure.id
        mine = [one.get(place, Reading()) for one in readings]
        if worth_telling(measure, mine):
            series.append(_series(spec, side, measure, mine, lines.get(place)))
    remarks = [remark for one in shown[1:] for remark in digest_remarks(protocol, shown[0], one)]
    return History(
        visits=judged,
        series=tuple(series),
        left_out=len(every) - len(shown),
        remarks=tuple(dict.fromkeys(remarks)),
    )


def _series(
    spec: TestSpec,
    side: Side | None,
    measure: ResultMeasure,
    readings: Sequence[Reading],
    line: LineUsed | None,
) -> MeasureSeries:
    points: list[DataPoint] = []
    before: list[Reading] = []
    for reading in readings:
        first = last = None
        if reading.value is not None:
            if before:
                first, last = (
                    change_of(spec, side, measure, one, reading) for one in (before[0], before[-1])
                )
            before.append(reading)
        points.append(DataPoint(reading, first, last))
    errors = errors_of_change(spec, measure.id, before[-1], before[-1]) if before else []
    return MeasureSeries(
        *fields_of(spec, side, measure),
        line=line,
        error=errors[0] if errors else None,
        points=tuple(points),
    )


How = Literal["new", "gone"]

MOVED = 1.25
"""A finding that moved the odds of its driver by less than this is left out (judgement)."""

_Sighting = tuple[str, Side | None, str, Side | None, str, bool]
"""Driver, side, test, leg, what, and whether it was there."""


@dataclass(frozen=True, slots=True)
class FindingChange:
    """A finding that came or went, as it is or was, and the driver it says most about.

    ``tested_then`` and ``tested_now``: whether the earlier and the later visit could have shown it.
    """

    how: How
    driver: str
    side: Side | None
    tested_then: bool
    tested_now: bool
    finding: Finding


def what_moved(then: Visit, now: Visit) -> tuple[FindingChange, ...]:
    """What speaks for a driver at one of two visits alone, strongest first.

    Where either visit was refer first, nothing was weighed, so nothing can have moved.
    """
    if "refer-first" in (then.assessment.outcome, now.assessment.outcome):
        return ()
    before, after = _speaking(then.assessment), _speaking(now.assessment)
    found = []
    for sighting in dict.fromkeys([*after, *before]):
        if sighting in before and sighting in after:
            continue
        how: How = "new" if sighting in after else "gone"
        one = after.get(sighting) or before[sighting]
        tested_then, tested_now = (_could_show(visit.session, one) for visit in (then, now))
        found.append(FindingChange(how, *sighting[:2], tested_then, tested_now, one))
    return tuple(sorted(found, key=lambda one: -one.finding.factor))


def _speaking(assessment: Assessment) -> dict[_Sighting, Finding]:
    """What speaks for a driver, each finding once, with the driver it says most about."""
    best: dict[tuple[str, Side | None, str], tuple[str, Side | None, Finding]] = {}
    for driver in assessment.drivers:
        for one in driver.speaks_for:
            key = one.test, one.leg, one.what
            if one.factor >= MOVED and (key not in best or one.factor > best[key][2].factor):
                best[key] = driver.driver, driver.side, one
    return {
        (driver, side, one.test, one.leg, one.what, one.there): one
        for driver, side, one in best.values()
    }


def _could_show(session: Session, finding: Finding) -> bool:
    return any(
        trial.test == finding.test
        and trial.counts
        and (finding.side is None or trial.side in (None, finding.side))
        and (not finding.cue or trial.cue == finding.cue)
        for trial in session.as_amended.trials
    )


Step = Literal["up", "stay", "down", "ask"]


@dataclass(frozen=True, slots=True)
class Progress:
    """What became of one exercise of the earlier plan.

    Attributes:
        criteria: Those the numbers can tell.
        step: ``up``: on to ``progress_to``; ``stay``; ``down``: to the easier one; ``ask``: the
            tests do not tell, so ask and watch.
        easier: For a step down, the exercise of the same driver below it; None where the protocol
            has none that fits.
    """

    start: Start
    criteria: tuple[CriterionSeen, ...]
    step: Step
    why: str
    easier: Exercise | None = None


def progress_of(
    protocol: ScreenProtocol, earlier: Session, plan: Assessment, later: Session
) -> tuple[Progress, ...]:
    """What the later visit tells about each exercise of the earlier plan, own lines aside.

    The criteria are read from tests of one day. What else the words ask for, such as two days or
    no rail, is for the clinician to see.
    """
    seen = Seen.of(protocol, later)
    allowed, changes = Allowed.of(seen), compare(protocol, earlier, later)
    return tuple(_progress(start, allowed, changes) for start in plan.plan.start if start.exercise)


def _progress(start: Start, allowed: Allowed, changes: Sequence[Change]) -> Progress:
    seen = allowed.seen
    exercise = seen.protocol.known_exercise(start.exercise)
    criteria = criteria_seen(exercise.progress_if, start.side, seen) if exercise else ()
    against = _speaks_against(exercise, criteria, allowed, changes)
    if against and exercise is not None:
        return Progress(start, criteria, "down", against, _easier(exercise, start.side, allowed))
    if any(one.status == "not yet" for one in criteria):
        return Progress(start, criteria, "stay", "the criterion is not met yet")
    if not criteria:
        return Progress(start, criteria, "ask", "no test measures this criterion")
    if any(one.status == "unknown" for one in criteria):
        return Progress(start, criteria, "ask", "pain limited the test that measures it")
    if any(one.status == "not tested" for one in criteria):
        return Progress(start, criteria, "ask", "the test that measures it gave no number")
    return Progress(start, criteria, "up", "the tests of this visit meet it")


def _speaks_against(
    exercise: Exercise | None,
    criteria: Sequence[CriterionSeen],
    allowed: Allowed,
    changes: Sequence[Change],
) -> str:
    """Why to step down; empty where nothing asks for it. What asks for it is clinical judgement."""
    not_allowed = allowed.why_not(exercise) if exercise else ""
    if not_allowed:
        return not_allowed
    for one in criteria:
        observation = allowed.seen.observations.get((one.criterion.test, one.side))
        if observation is not None and (observation.worst_pain or 0) > PAIN_LIMIT:
            return f"pain above {PAIN_LIMIT} of 10 in {observation.spec.name.lower()}"
        for change in changes:
            same = (change.test, change.side, change.measure)
            read_from = (one.criterion.test, one.side, one.criterion.measure)
            if same == read_from and change.verdict == "worse":
                return f"{change.label.lower()} worse beyond error"
    return ""


def _easier(exercise: Exercise, side: Side | None, allowed: Allowed) -> Exercise | None:
    of_driver = allowed.of_driver(exercise.driver, side)
    below = [one for one in of_driver if one.order < exercise.order]
    return below[-1] if below else None
