"""How a student did: what was recorded and committed to, held against what was there to see."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment
from screen_tui.practice.agreement import Counts, Limits, limits_of_agreement
from screen_tui.practice.case import Case
from screen_tui.practice.commitment import Agreement, Commitment, Wanted, agreement
from screen_tui.practice.confidence import brier
from screen_tui.practice.interview import Interview, true_intake, wrong_ticks
from screen_tui.practice.rehearsal import true_session
from screen_tui.practice.safety import Safety, safety
from screen_tui.practice.staging import Scene, timeline_of, true_trial
from screen_tui.protocol.tests import TestSpec
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Session, Trial

Unit = Literal["s", "repetitions", "deg"]
UNITS: tuple[Unit, ...] = ("s", "repetitions", "deg")


@dataclass(frozen=True, slots=True)
class Pair:
    """One number of one trial: as it was, and as the student has it.

    ``place`` is that of the trial in the session, from 0. ``field`` is ``value``, or the id of a
    number that was read off.
    """

    place: int
    scene: Scene
    field: str
    unit: Unit
    true: float
    measured: float

    @property
    def error(self) -> float:
        """Measured less true: above zero, too long, too many, or too bent."""
        return self.measured - self.true


@dataclass(frozen=True, slots=True)
class SignPair:
    """One sign in one trial: whether it was there, and whether the student marked it."""

    place: int
    scene: Scene
    sign: str
    there: bool
    marked: bool


@dataclass(frozen=True, slots=True)
class Score:
    """How one run went.

    Attributes:
        pairs: Every number that can be compared, in the order of the trials.
        signs: Every sign of every trial that could be marked, in the order of the trials.
        ends: (place, as it was, as recorded) of trials that ended for another reason.
        wrong_ticks: Ids of the questions before testing that were not ticked right.
        unasked: Ids of the questions behind which something was left unasked.
        safety: Whether the patient was kept safe.
        with_author: The commitment against what the author of the case stands by.
        with_engine: The same against what the engine makes of a perfect record of the case.
        engine_on_case: What that is.
        engine_on_record: What the engine makes of the student's own record.
        brier: The Brier score of the answer, against the author's.
    """

    pairs: tuple[Pair, ...]
    signs: tuple[SignPair, ...]
    ends: tuple[tuple[int, str, str], ...]
    wrong_ticks: tuple[str, ...]
    unasked: tuple[str, ...]
    safety: Safety
    with_author: Agreement
    with_engine: Agreement
    engine_on_case: Assessment
    engine_on_record: Assessment
    brier: float

    def limits(self, unit: Unit) -> Limits | None:
        """Bias and 95 % limits of agreement of all numbers of a unit; None without any."""
        return limits_of_agreement([pair.error for pair in self.pairs if pair.unit == unit])

    @property
    def sign_counts(self) -> Counts:
        """All signs of all trials, counted."""
        return Counts.of((pair.there, pair.marked) for pair in self.signs)


def score(
    case: Case,
    protocol: Protocol,
    seed: int,
    session: Session,
    commitment: Commitment,
    interview: Interview | None = None,
) -> Score:
    """Score one run.

    Trials that were struck out count neither for nor against anybody, but they were played, so
    the trial after them is the next one of the case.

    Args:
        case: The case.
        protocol: The protocol it was played with.
        seed: The seed of the run.
        session: What the student recorded; its client is the case's.
        commitment: What the student committed to.
        interview: What was asked; left out where nobody asked aloud.
    """
    truly = true_trials(case, protocol, seed, session)
    on_case = assess(protocol, true_session(case, protocol, seed))
    with_author = agreement(commitment, Wanted.by_author(case.truth))
    compared = [
        (place, protocol.test(trial.test), trial, true)
        for place, (trial, true) in enumerate(zip(session.trials, truly, strict=True))
        if true is not None and trial.counts
    ]
    return Score(
        pairs=tuple(pair for one in compared for pair in _pairs(*one)),
        signs=tuple(pair for one in compared for pair in _signs(*one)),
        ends=tuple(
            (place, true.ended, trial.ended)
            for place, _, trial, true in compared
            if trial.ended != true.ended
        ),
        wrong_ticks=wrong_ticks(case, session.intake),
        unasked=() if interview is None else interview.left_unasked,
        safety=safety(
            protocol,
            true_intake(case),
            session,
            truly,
            referred=commitment.answer == "refer-first",
        ),
        with_author=with_author,
        with_engine=agreement(commitment, Wanted.by_engine(on_case)),
        engine_on_case=on_case,
        engine_on_record=assess(protocol, session),
        brier=brier(commitment.confidence, right=with_author.right),
    )


def true_trials(
    case: Case, protocol: Protocol, seed: int, session: Session
) -> tuple[Trial | None, ...]:
    """For each trial of a session what a perfect observer would have recorded of it.

    None where the case shows nothing of that test and leg.
    """
    played: dict[Scene, int] = {}
    found: list[Trial | None] = []
    for trial in session.trials:
        scene = Scene.of(trial)
        attempt = played.get(scene, 0)
        played[scene] = attempt + 1
        timeline = timeline_of(case, protocol, scene, attempt, seed)
        found.append(None if timeline is None else true_trial(protocol.test(trial.test), timeline))
    return tuple(found)


def _pairs(place: int, spec: TestSpec, trial: Trial, true: Trial) -> list[Pair]:
    scene = Scene.of(trial)
    if spec.timer.numbers:
        read = [
            (field.id, getattr(true, field.id), getattr(trial, field.id))
            for field in spec.timer.numbers
        ]
        return [
            Pair(place, scene, name, "deg", there, got)
            for name, there, got in read
            if there is not None and got is not None
        ]
    there, got = exact(true), exact(trial)
    if there is None or got is None or true.value is None or trial.value is None:
        return []
    unit: Unit = "repetitions" if spec.timer.counts else "s"
    return [Pair(place, scene, "value", unit, there, got)]


def exact(trial: Trial) -> float | None:
    """A trial's value as it was timed, or as it was corrected by hand."""
    corrected = trial.corrected_from is not None or bool(trial.correction)
    return trial.value if corrected or trial.raw_value is None else trial.raw_value


def _signs(place: int, spec: TestSpec, trial: Trial, true: Trial) -> list[SignPair]:
    scene = Scene.of(trial)
    return [
        SignPair(place, scene, sign, there=sign in true.signs, marked=sign in trial.signs)
        for sign in spec.signs
    ]
