"""Which trial of a case is played next, and what a perfect observer would record."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import NamedTuple

from screen_tui.fields import Side
from screen_tui.practice.case import Case, Direction, Shown
from screen_tui.practice.interview import true_intake
from screen_tui.practice.timeline import ALMOST_S, Timeline, realised
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Session, Skip, Trial
from screen_tui.timing import Timer
from screen_tui.timing.spec import CAP, TimingSpec
from screen_tui.trial.battery import Item, allowed_items, next_item, progress
from screen_tui.trial.record import trial_of
from screen_tui.trial.series import Series
from screen_tui.trial.state import TrialInput


class Scene(NamedTuple):
    """What is asked of the patient: a test on a leg, with a cue or none, up or down on stairs."""

    test: str
    side: Side | None = None
    cue: str = ""
    direction: Direction | None = None

    @classmethod
    def of(cls, trial: Trial) -> Scene:
        return cls(trial.test, trial.side, trial.cue, trial.direction)


def timeline_of(
    case: Case, protocol: ScreenProtocol, scene: Scene, attempt: int, seed: int
) -> Timeline | None:
    """Give one trial of a case as it happens in a run.

    Args:
        case: The case.
        protocol: The protocol it was checked against.
        scene: What is asked of the patient.
        attempt: How many trials of the scene came before; beyond those of the case, its last one
            comes again, with differences of its own.
        seed: The seed of the run.

    Returns:
        None where the case says nothing of that test and leg. A cue the case says nothing of
        changes nothing: the trial without it is played.
    """
    takes = _takes(case, scene) or _takes(case, scene._replace(cue=""))
    spec = protocol.known_test(scene.test)
    if not takes or spec is None:
        return None
    take = takes[min(attempt, len(takes) - 1)]
    named = take.model_copy(update={"cue": scene.cue})
    return realised(named, spec, f"{case.id} {seed} {scene} {attempt}")


def next_timeline(
    case: Case, protocol: ScreenProtocol, scene: Scene, trials: Iterable[Trial], seed: int
) -> Timeline | None:
    """Give the trial that comes after those recorded so far; struck-out ones were played, too."""
    attempt = sum(Scene.of(trial) == scene for trial in trials)
    return timeline_of(case, protocol, scene, attempt, seed)


def true_trial(spec: TestSpec, timeline: Timeline) -> Trial:
    """Give the trial as hands without any error would record it, through the real timers."""
    first_seen = timeline.first_seen
    made = TrialInput(
        timer=_played(spec.timer, timeline),
        marks=tuple(first_seen),
        sign_times=tuple(first_seen.items()) if spec.timer.ordered else (),
        pain=timeline.pain,
        ended="" if timeline.ended == CAP else timeline.ended,
        direction=timeline.direction,
        steps=spec.timer.wanted(timeline.steps) if timeline.direction else None,
    )
    return trial_of(spec, timeline.side, timeline.cue, made, timeline.numbers)


def _takes(case: Case, scene: Scene) -> list[Shown]:
    return [one for one in case.shown if Scene(one.test, one.side, one.cue, one.direction) == scene]


def _played(spec: TimingSpec, timeline: Timeline) -> Timer:
    """The timer after a hand pressed at every moment there is to press."""
    timer = spec.timer(timeline.steps)
    if spec.series is not None:
        return _played_holds(timer, spec.series[1], timeline)
    if spec.clocked:
        timer = timer.press(0.0)
    for at in timeline.repetitions:
        timer = timer.press(at)
    if timeline.broken_off:
        return timer.stop(timeline.over_s)
    if spec.stretch and timeline.ended != CAP:
        return timer.press(timeline.over_s)
    return timer.tick(timeline.over_s + 1.0).answer(timeline.half_way_up)


def _played_holds(timer: Timer, full_s: float, timeline: Timeline) -> Timer:
    for begin, let_go in timeline.holds:
        timer = timer.press(begin)
        full = let_go - begin > full_s - ALMOST_S
        timer = timer.tick(let_go + 1.0) if full else timer.press(let_go)
    return timer.stop(timeline.over_s) if timeline.broken_off else timer


NO_TIME = datetime(2000, 1, 1, tzinfo=UTC)
"""The start of a session that never took place."""

NOT_IN_CASE = "not enough time"
"""Why a test the case does not show is left out: a reason that says nothing of what is safe."""


def blank_session(case: Case, protocol: ScreenProtocol) -> Session:
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


def asked_of(case: Case, protocol: ScreenProtocol) -> frozenset[str]:
    """The tests that are asked for since the case shows them, and not those they overlap with."""
    shown = {one.test for one in case.shown}
    return frozenset(
        item.test
        for item in protocol.battery.items
        if item.test in shown and item.instead_of and not shown & set(item.instead_of)
    )


def true_session(case: Case, protocol: ScreenProtocol, seed: int) -> Session:
    """The record of a perfect observer who does all that is offered, with every cue of the case.

    Tests are offered and withheld as in the program itself; what the case does not show is
    skipped.
    """
    session = blank_session(case, protocol)
    items = allowed_items(protocol, session.intake)
    asked = asked_of(case, protocol)
    while (item := next_item(progress(protocol, session, items, asked))) is not None:
        session = _done(case, protocol, session, item, seed)
    return session


def _done(case: Case, protocol: ScreenProtocol, session: Session, item: Item, seed: int) -> Session:
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
            series = series.with_trial(trial)
    return session
