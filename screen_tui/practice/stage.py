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
from screen_tui.practice.timeline import Timeline
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Session
from screen_tui.timing import Phase
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
        return -lead_in - _WELL_BEFORE_S if start is None else now - start

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
        """Whether Space asks the patient to begin: once, and again when all of it was missed."""
        if self.timeline is None or not trial.spec.timer.patient_starts or trial.prompt:
            return False
        made = trial.input
        if made.phase is not Phase.READY or made.ended:
            return False
        return self.asked_at is None or self.time(trial, now) >= self.timeline.over_s

    def asked(self, now: float) -> Stage:
        """The same, the patient being asked to begin."""
        return replace(self, asked_at=now)


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
