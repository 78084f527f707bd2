"""What the simulated patient does while a trial is at hand, and since when.

Pure. Tests whose clock starts with the word go start the patient with it. In the others the
patient moves by themselves once they are asked to: a hold or a walk begins when a foot leaves the
floor or crosses a mark, which is for the student to see.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from screen_tui.practice.case import Case
from screen_tui.practice.player import Frame, at
from screen_tui.practice.staging import Scene, timeline_of
from screen_tui.practice.timeline import ALMOST_S, Timeline
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Session
from screen_tui.timing import Phase, Timer
from screen_tui.timing.kinds.hold import HoldTimer
from screen_tui.timing.kinds.repeat_hold import RepeatHoldTimer
from screen_tui.timing.spec import CAP
from screen_tui.trial.state import TrialState

_WELL_BEFORE_S = 1.0


@dataclass(frozen=True, slots=True)
class Stage:
    """The patient in one trial.

    Attributes:
        scene: What is asked of the patient.
        attempt: How many trials of the scene came before.
        timeline: What happens; None where the case says nothing of the test.
        since: Monotonic seconds at which the trial was taken up.
        asked_at: Monotonic seconds at which the patient was asked to begin; None before.
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
            return -lead_in - _WELL_BEFORE_S
        since = now - start - _held_on(self.timeline, trial, start, now)
        if self.timeline.ended == CAP and not _clock_over(trial.input.timer, now):
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
        return not self.timeline.repetitions and now >= self._missed_at

    @property
    def _missed_at(self) -> float:
        """When all of what the patient was asked for is over."""
        assert self.asked_at is not None
        assert self.timeline is not None
        return self.asked_at + self.timeline.lead_in_s + self.timeline.over_s

    def asked(self, now: float) -> Stage:
        """The same, the patient being asked to begin."""
        return replace(self, asked_at=now)


def _clock_over(timer: Timer, now: float) -> bool:
    """Whether the student's clock was stopped or has run its full time."""
    deadline = timer.deadline if isinstance(timer, HoldTimer) else None
    return timer.ended is not None or (deadline is not None and now >= deadline)


def _held_on(timeline: Timeline, trial: TrialState, start: float, now: float) -> float:
    """Seconds by which full holds of a series lasted longer, each until the student's clock ended.

    Args:
        timeline: The trial as the case has it.
        trial: The trial as the student has it.
        start: When it started.
        now: Monotonic seconds.
    """
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
