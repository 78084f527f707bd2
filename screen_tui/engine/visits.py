"""The visits of a client: which sessions belong together, and what each number did over them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from screen_tui.engine.assess import assess
from screen_tui.engine.change import (
    Change,
    ErrorUsed,
    change_of,
    digest_remarks,
    error_of_change,
    measures_of,
    worth_telling,
)
from screen_tui.engine.readings import Reading, Readings, readings_of
from screen_tui.engine.results import Assessment, LineUsed
from screen_tui.fields import Side
from screen_tui.protocol.tests import ResultMeasure, TestSpec
from screen_tui.protocol.whole import Protocol
from screen_tui.session.label import label_key
from screen_tui.session.model import Session

MOST_VISITS = 12
"""As many as a table and a chart can show: the first, and the latest of the others."""


@dataclass(frozen=True, slots=True)
class Visits:
    """The sessions of one client in order of their start.

    ``label`` is written as at the latest visit. ``synthetic`` marks invented people, who are
    never mixed with others of the same label.
    """

    label: str
    synthetic: bool
    sessions: tuple[Session, ...]


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit and what it came to.

    ``number`` counts from 1 over all visits of the client. ``marks`` say what is not as usual
    about it: unfinished, stopped, without trials, a second file of the same start.
    """

    number: int
    session: Session
    assessment: Assessment
    marks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DataPoint:
    """What one visit measured, and how that stands to other visits.

    ``since_first`` is against the first visit that has a number, ``since_previous`` against the
    last one before this that has; None where there is none, or where this visit has no number.
    """

    reading: Reading
    since_first: Change | None
    since_previous: Change | None


@dataclass(frozen=True, slots=True)
class MeasureSeries:
    """One measure of one test on one side over all visits shown.

    Attributes:
        better_when: Which way is better.
        line: The line the latest number was judged by; None where none was.
        error: What changes are held against; None where none is published.
        points: One for each visit shown, in order.
    """

    test: str
    side: Side | None
    measure: str
    label: str
    unit: str
    decimals: int
    better_when: Literal["higher", "lower"]
    line: LineUsed | None
    error: ErrorUsed | None
    points: tuple[DataPoint, ...]

    @property
    def place(self) -> tuple[str, Side | None, str]:
        """The test, the side and the measure."""
        return self.test, self.side, self.measure

    @property
    def measured(self) -> tuple[int, ...]:
        """The places of the points that have a number."""
        return tuple(i for i, one in enumerate(self.points) if one.reading.value is not None)


@dataclass(frozen=True, slots=True)
class History:
    """All that the visits of a client show.

    Attributes:
        visits: The visits shown, at most `MOST_VISITS`.
        series: In the order of the protocol.
        left_out: How many visits between the first and the next one shown are not shown.
        remarks: What to know of the protocol the visits were made with.
    """

    label: str
    synthetic: bool
    visits: tuple[Visit, ...]
    series: tuple[MeasureSeries, ...]
    left_out: int
    remarks: tuple[str, ...]


def visits_of(sessions: Iterable[Session]) -> tuple[Visits, ...]:
    """Sort sessions by client, each client's by their start; clients by label, real ones first.

    Unfinished and stopped sessions are among them; `marks_of` tells them.
    """
    groups: dict[tuple[str, bool], list[Session]] = {}
    for session in sorted(sessions, key=lambda one: (one.started, one.id)):
        groups.setdefault((label_key(session.client.label), session.synthetic), []).append(session)
    return tuple(
        Visits(mine[-1].client.label.strip(), synthetic, tuple(mine))
        for (_, synthetic), mine in sorted(groups.items())
    )


def marks_of(session: Session, others: Sequence[Session]) -> tuple[str, ...]:
    """What is not as usual about a session.

    Args:
        session: The session.
        others: The sessions of the same client, itself among them or not.
    """
    marks = []
    original = re.sub(r"-copy-\d+$", "", session.id)
    if original != session.id and any(one.id == original for one in others):
        marks.append(f"a second file of session {original}")
    if session.stopped:
        marks.append(f"stopped: {session.stopped}")
    elif session.finished is None:
        marks.append("not finished")
    if not session.trials:
        marks.append("no trial")
    elif not any(trial.counts for trial in session.as_amended.trials):
        marks.append("every trial struck out")
    if session.addenda:
        changed = any(addendum.changes_a_trial for addendum in session.addenda)
        marks.append("corrected afterwards" if changed else "added to afterwards")
    return tuple(marks)


def history_of(protocol: Protocol, visits: Visits) -> History:
    """Everything the visits of a client show, read by one protocol.

    Args:
        protocol: Today's protocol.
        visits: At least one; of more than `MOST_VISITS` the first and the latest are read.
    """
    every = visits.sessions
    shown = every if len(every) <= MOST_VISITS else (every[0], *every[-(MOST_VISITS - 1) :])
    told = tuple(
        Visit(every.index(one) + 1, one, assess(protocol, one), marks_of(one, every))
        for one in shown
    )
    readings = [readings_of(protocol, one) for one in shown]
    found = (
        _series(told, spec, side, measure, readings)
        for spec, side, measure in measures_of(protocol)
    )
    remarks = [remark for one in shown[1:] for remark in digest_remarks(protocol, shown[0], one)]
    return History(
        label=visits.label,
        synthetic=visits.synthetic,
        visits=told,
        series=tuple(one for one in found if one is not None),
        left_out=len(every) - len(shown),
        remarks=tuple(dict.fromkeys(remarks)),
    )


def _series(
    visits: Sequence[Visit],
    spec: TestSpec,
    side: Side | None,
    measure: ResultMeasure,
    readings: Sequence[Readings],
) -> MeasureSeries | None:
    mine = [one.get((spec.id, side, measure.id), Reading()) for one in readings]
    if not worth_telling(measure, mine):
        return None
    points: list[DataPoint] = []
    before: list[Reading] = []
    for reading in mine:
        valued = reading.value is not None and bool(before)
        first, last = (
            [change_of(spec, side, measure, one, reading) for one in (before[0], before[-1])]
            if valued
            else (None, None)
        )
        points.append(DataPoint(reading, first, last))
        if reading.value is not None:
            before.append(reading)
    return MeasureSeries(
        test=spec.id,
        side=side,
        measure=measure.id,
        label=measure.label,
        unit=measure.unit,
        decimals=measure.decimals,
        better_when=measure.better,
        line=_latest_line(visits, spec.id, side, measure.id),
        error=error_of_change(spec, measure.id),
        points=tuple(points),
    )


def _latest_line(
    visits: Sequence[Visit], test: str, side: Side | None, measure: str
) -> LineUsed | None:
    lines = [
        result.line
        for visit in visits
        for result in visit.assessment.results
        if (result.test, result.side, result.measure) == (test, side, measure) and result.line
    ]
    return lines[-1] if lines else None
