"""A case played through by somebody who sees everything and errs in nothing."""

from __future__ import annotations

from datetime import UTC, datetime

from screen_tui.practice.case import Case
from screen_tui.practice.interview import true_intake
from screen_tui.practice.staging import Scene, next_timeline, true_trial
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Session, Skip
from screen_tui.trial.battery import Item, next_item, plan_battery, progress
from screen_tui.trial.series import Series

NO_TIME = datetime(2000, 1, 1, tzinfo=UTC)
"""The start of a session that never took place."""

NOT_IN_CASE = "not enough time"
"""Why a test the case does not show is left out: a reason that says nothing of what is safe."""


def blank_session(case: Case, protocol: Protocol) -> Session:
    """The session of a case before the first trial, every question ticked right."""
    return Session(
        id="practice",
        protocol=protocol.battery.id,
        protocol_digest=protocol.digest,
        started=NO_TIME,
        synthetic=True,
        client=case.patient,
        intake=true_intake(case),
    )


def true_session(case: Case, protocol: Protocol, seed: int) -> Session:
    """The record of a perfect observer who does all that is offered, with every cue of the case.

    Tests are offered and withheld as in the program itself; what the case does not show is
    skipped.
    """
    session = blank_session(case, protocol)
    items = plan_battery(protocol, session.intake)
    while (item := next_item(progress(protocol, session, items))) is not None:
        session = _done(case, protocol, session, item, seed)
    return session


def _done(case: Case, protocol: Protocol, session: Session, item: Item, seed: int) -> Session:
    spec = protocol.test(item.test)
    cues = [cue.id for cue in spec.cues]
    shown = {one.cue for one in case.shown if one.test == spec.id and one.side == item.side}
    for cue in ("", *(cue for cue in cues if cue in shown)):
        series = Series.of(spec, item.side, cue, session.trials)
        while not series.complete:
            scene = Scene(spec.id, item.side, cue, series.direction)
            timeline = next_timeline(case, protocol, scene, session.trials, seed)
            if timeline is None:
                if not cue:
                    skip = Skip(test=spec.id, side=item.side, reason=NOT_IN_CASE)
                    session = session.with_skip(skip)
                break
            trial = true_trial(spec, timeline)
            session = session.with_trial(trial)
            series = series.with_kept(trial)
    return session
