"""Which trial of a case is played, since when, and what a perfect observer would record.

Tests whose clock starts with the word go start the patient with it. In the others the patient
moves by themselves once they are asked to: a hold or a walk begins when a foot leaves the floor or
crosses a mark, which is for the student to see.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import NamedTuple

from screen_tui.fields import Side
from screen_tui.practice.case import Case, Direction, Shown, true_intake
from screen_tui.practice.player import ALMOST_S, Frame, Timeline, at, realised
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Session, Skip, Trial
from screen_tui.timing.kinds.repeat_hold import RepeatHoldTimer
from screen_tui.timing.spec import CAP, TimingSpec
from screen_tui.timing.timer import Phase, Timer
from screen_tui.trial.battery import Item, allowed_items, next_item, progress
from screen_tui.trial.record import trial_of
from screen_tui.trial.series import Series
from screen_tui.trial.state import TrialInput, TrialState


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
    """One trial of a case as it happens in a run; None where the case says nothing of that test.

    A cue the case says nothing of changes nothing: the trial without it is played. Beyond the
    trials of the case its last one comes again, with differences of its own; ``attempt`` is how
    many came before.
    """

    def takes(of: Scene) -> list[Shown]:
        return [one for one in case.shown if (one.test, one.side, one.cue, one.direction) == of]

    found = takes(scene) or takes(scene._replace(cue=""))
    spec = protocol.known_test(scene.test)
    if not found or spec is None:
        return None
    named = found[min(attempt, len(found) - 1)].model_copy(update={"cue": scene.cue})
    return realised(named, spec, f"{case.id} {seed} {scene} {attempt}")


def next_timeline(
    case: Case, protocol: ScreenProtocol, scene: Scene, trials: Iterable[Trial], seed: int
) -> Timeline | None:
    """The trial that comes after those recorded so far; void ones were played, too."""
    attempt = sum(Scene.of(trial) == scene for trial in trials)
    return timeline_of(case, protocol, scene, attempt, seed)


def played(
    case: Case, protocol: ScreenProtocol, session: Session, seed: int
) -> Iterator[tuple[Trial, Timeline | None]]:
    """Each trial of a session with what the patient did in it; None where the case has nothing."""
    before: Counter[Scene] = Counter()
    for trial in session.trials:
        scene = Scene.of(trial)
        yield trial, timeline_of(case, protocol, scene, before[scene], seed)
        before[scene] += 1


def true_trial(spec: TestSpec, timeline: Timeline) -> Trial:
    """The trial as hands without any error would record it, through the real timers."""
    first_seen = timeline.first_seen
    made = TrialInput(
        timer=_played(spec.timer, timeline),
        marks=tuple(first_seen),
        sign_times=() if spec.timer.numbers else tuple(first_seen.items()),
        pain=timeline.shown.pain,
        ended="" if timeline.shown.ended == CAP else timeline.shown.ended,
        direction=timeline.shown.direction,
        steps=spec.timer.wanted(timeline.shown.steps) if timeline.shown.direction else None,
    )
    return trial_of(spec, timeline.shown.side, timeline.shown.cue, made, timeline.shown.numbers)


def _played(spec: TimingSpec, timeline: Timeline) -> Timer:
    """The timer after a hand pressed at every moment there is to press."""
    timer = spec.timer(timeline.shown.steps)
    if spec.series is not None:
        for begin, let_go in timeline.holds:
            timer = timer.press(begin)
            full = let_go - begin > spec.series[1] - ALMOST_S
            timer = timer.tick(let_go + 1.0) if full else timer.press(let_go)
        return timer.stop(timeline.over_s) if timeline.broken_off else timer
    if spec.clocked:
        timer = timer.press(0.0)
    for moment in timeline.repetitions:
        timer = timer.press(moment)
    if timeline.broken_off:
        return timer.stop(timeline.over_s)
    if spec.one_interval and timeline.shown.ended != CAP:
        return timer.press(timeline.over_s)
    return timer.tick(timeline.over_s + 1.0).answer(timeline.shown.half_way_up)


NOT_IN_CASE = "not enough time"
"""Why a test the case does not show is left out: a reason that says nothing of what is safe."""


def blank_session(case: Case, protocol: ScreenProtocol) -> Session:
    """The session of a case before the first trial, every question ticked right."""
    return Session(
        id="practice",
        protocol=protocol.battery.id,
        protocol_digest=protocol.digest,
        started=datetime(2000, 1, 1, tzinfo=UTC),  # it never took place
        synthetic=True,
        client=case.patient,
        intake=true_intake(case),
    )


def chosen_in(case: Case, protocol: ScreenProtocol) -> frozenset[str]:
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
    session, asked = blank_session(case, protocol), chosen_in(case, protocol)
    items = allowed_items(protocol, session.intake)
    while (item := next_item(progress(protocol, session, items, asked))) is not None:
        session = _done(case, protocol, session, item, seed)
    return session


def _done(case: Case, protocol: ScreenProtocol, session: Session, item: Item, seed: int) -> Session:
    spec = protocol.test(item.test)
    shown = {one.cue for one in case.shown if one.test == spec.id and one.side == item.side}
    for cue in ("", *(cue.id for cue in spec.cues if cue.id in shown)):
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


@dataclass(frozen=True, slots=True)
class Stage:
    """The patient in one trial.

    Attributes:
        attempt: How many trials of the scene came before.
        timeline: None where the case says nothing of the test.
        since: Monotonic seconds at which the trial was taken up.
        asked_at: Those at which the patient was asked to begin; None before.
    """

    scene: Scene
    attempt: int
    timeline: Timeline | None
    since: float
    asked_at: float | None = None

    def time(self, trial: TrialState, now: float) -> float:
        """Seconds since the patient started; below zero before."""
        lead_in = self.timeline.lead_in_s if self.timeline is not None else 0.0
        start: float | None
        if trial.spec.timer.numbers:
            start = self.since
        elif trial.spec.timer.patient_starts:
            start = None if self.asked_at is None else self.asked_at + lead_in
        else:
            start = trial.input.go_at if trial.input.counting_in else trial.input.timer.started
        if start is None or self.timeline is None:
            return -lead_in - 1.0  # well before
        since = now - start - _held_on(self.timeline, trial, start, now)
        if self.timeline.shown.ended == CAP and not _clock_over(trial.input.timer, now):
            # Whoever lasts the full time stays until the student's clock says stop.
            return min(since, self.timeline.over_s - ALMOST_S)
        return since

    def frame(self, trial: TrialState, now: float) -> Frame | None:
        """What there is to see and hear; None where the case says nothing of the test."""
        return None if self.timeline is None else at(self.timeline, self.time(trial, now))

    def pain(self, trial: TrialState, now: float) -> str:
        """What the patient answers when asked for the pain; "" while either is still busy."""
        if self.timeline is None:
            return ""
        over = trial.ended or self.time(trial, now) >= self.timeline.over_s
        return at(self.timeline, self.timeline.over_s).pain if over else ""

    def can_be_asked(self, trial: TrialState, now: float) -> bool:
        """Whether Space asks the patient to begin: once, and again when all of it was missed.

        Repetitions are never begun again: a late press of the last one would ask for all of them.
        """
        if self.timeline is None or not trial.spec.timer.patient_starts or trial.prompt:
            return False
        made = trial.input
        if made.phase is not Phase.READY or made.ended:
            return False
        if self.asked_at is None:
            return True
        missed_at = self.asked_at + self.timeline.lead_in_s + self.timeline.over_s
        return not self.timeline.repetitions and now >= missed_at

    def asked(self, now: float) -> Stage:
        return replace(self, asked_at=now)


def _clock_over(timer: Timer, now: float) -> bool:
    return timer.ended is not None or (timer.deadline is not None and now >= timer.deadline)


def _held_on(timeline: Timeline, trial: TrialState, start: float, now: float) -> float:
    """Seconds by which full holds of a series lasted longer, until the student's clock ended."""
    timer = trial.input.timer
    if not isinstance(timer, RepeatHoldTimer):
        return 0.0
    longer = 0.0
    for run, (begin, let_go) in zip(timer.runs, timeline.holds, strict=False):
        if let_go - begin >= timer.hold_s - ALMOST_S:
            until = now if run.ended is None else run.ended
            until = until if run.deadline is None else min(until, run.deadline)
            longer += max(until - (start + let_go + longer), 0.0)
    return longer


def staged(
    before: Stage | None,
    case: Case,
    protocol: ScreenProtocol,
    session: Session,
    trial: TrialState,
    seed: int,
    now: float,
) -> Stage:
    """The stage for what is at hand: the one before as long as it is the same trial."""
    scene = Scene(trial.spec.id, trial.side, trial.series.cue, trial.input.direction)
    attempt = sum(Scene.of(trial) == scene for trial in session.trials)
    if before is not None and (before.scene, before.attempt) == (scene, attempt):
        return before
    return Stage(scene, attempt, timeline_of(case, protocol, scene, attempt, seed), now)
