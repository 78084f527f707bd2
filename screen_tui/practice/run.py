"""One practice run as it is kept: what a student did with a case, and how it went.

A run is no session: it stands in a folder of its own, in a format of its own, and is about an
invented person.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import datetime
from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from screen_tui.fields import Id, Strict
from screen_tui.practice.agreement import Counts
from screen_tui.practice.case import Case, QuestionId
from screen_tui.practice.commitment import Commitment
from screen_tui.practice.interview import Interview
from screen_tui.practice.scoring import UNITS, Score, Unit
from screen_tui.session.model import (
    Client,
    FreeText,
    Intake,
    Label,
    Session,
    SessionId,
    Skip,
    Trial,
)

RUN_FORMAT = 1

Share = Annotated[float, Field(ge=0, le=1)]
Count = Annotated[int, Field(ge=0)]


class Result(Strict):
    """The figures of a run, kept so that they stay what they were when a case is changed.

    Attributes:
        errors_s: Measured less true of every timed trial, in seconds.
        errors_repetitions: The same of every count.
        errors_deg: The same of every angle.
        hits: Signs that were there and marked.
        misses: Signs that were there and not marked.
        false_alarms: Signs that were not there and marked.
        rest: Signs that were neither.
        wrong_ticks: Ids of the questions that were not ticked right.
        must_refer: The person had to be referred first.
        refer_missed: And was not.
        unsafe: How many tests were begun that should not have been.
        right: The answer is the author's: kind, drivers and sides.
        right_by_engine: The answer is the engine's.
        next_test: The next test is one of the author's.
        start: What of the exercises is common with the author, 0 to 1.
        leave_out: The same of what to leave out.
        brier: The Brier score of the answer.
    """

    errors_s: tuple[float, ...] = ()
    errors_repetitions: tuple[float, ...] = ()
    errors_deg: tuple[float, ...] = ()
    hits: Count = 0
    misses: Count = 0
    false_alarms: Count = 0
    rest: Count = 0
    wrong_ticks: tuple[QuestionId, ...] = ()
    must_refer: bool
    refer_missed: bool
    unsafe: Count
    right: bool
    right_by_engine: bool
    next_test: bool
    start: Share
    leave_out: Share
    brier: Share

    @classmethod
    def of(cls, score: Score) -> Result:
        """The figures of a score."""
        counted = score.sign_counts
        errors = {
            unit: tuple(round(pair.error, 3) for pair in score.pairs if pair.unit == unit)
            for unit in UNITS
        }
        return cls(
            errors_s=errors["s"],
            errors_repetitions=errors["repetitions"],
            errors_deg=errors["deg"],
            hits=counted.hits,
            misses=counted.misses,
            false_alarms=counted.false_alarms,
            rest=counted.rest,
            wrong_ticks=score.wrong_ticks,
            must_refer=score.safety.must_refer,
            refer_missed=score.safety.refer_missed,
            unsafe=len(score.safety.unsafe),
            right=score.with_author.right,
            right_by_engine=score.with_engine.right,
            next_test=score.with_author.next_test,
            start=round(score.with_author.start, 3),
            leave_out=round(score.with_author.leave_out, 3),
            brier=round(score.brier, 4),
        )

    def errors(self, unit: Unit) -> tuple[float, ...]:
        """The errors of a unit."""
        return {
            "s": self.errors_s,
            "repetitions": self.errors_repetitions,
            "deg": self.errors_deg,
        }[unit]

    @property
    def sign_counts(self) -> Counts:
        """The signs of the run, counted."""
        return Counts(self.hits, self.misses, self.false_alarms, self.rest)


class PracticeRun(Strict):
    """One run of one case by one student.

    Attributes:
        practice_run: The version of the format.
        id: The id of the run, which is its file's name.
        case: The id of the case.
        case_digest: What the case was like then.
        protocol: The id of the battery.
        protocol_digest: What the protocol was like then.
        seed: What the small differences of the run followed from.
        student: A short label of who practised, never a name; empty when nobody says.
        begun: When it was begun.
        finished: When the student had committed.
        asked: How often each question was put to the patient.
        patient: The invented person.
        intake: What the student ticked.
        trials: What the student recorded.
        skipped: What the student left out, and why.
        commitment: What the student committed to.
        result: How it went.
    """

    practice_run: Literal[1] = 1
    id: SessionId
    case: Id
    case_digest: FreeText
    protocol: Id
    protocol_digest: FreeText
    seed: Annotated[int, Field(ge=0, le=2**31)]
    student: Literal[""] | Label = ""
    begun: AwareDatetime
    finished: AwareDatetime
    asked: Mapping[QuestionId, Count] = Field(default_factory=dict)
    patient: Client
    intake: Intake
    commitment: Commitment
    result: Result
    trials: tuple[Trial, ...] = ()
    skipped: tuple[Skip, ...] = ()

    @property
    def session(self) -> Session:
        """The run as a session, to be read by everything that reads one."""
        return Session(
            id=self.id,
            protocol=self.protocol,
            protocol_digest=self.protocol_digest,
            started=self.begun,
            finished=self.finished,
            synthetic=True,
            client=self.patient,
            intake=self.intake,
            trials=self.trials,
            skipped=self.skipped,
        )


def finished_run(
    case: Case,
    seed: int,
    session: Session,
    interview: Interview,
    commitment: Commitment,
    score: Score,
    now: datetime,
    student: str = "",
) -> PracticeRun:
    """The record of a run that is over.

    Args:
        case: The case.
        seed: The seed of the run.
        session: What the student recorded.
        interview: What was asked.
        commitment: What the student committed to.
        score: How it went.
        now: When it was over.
        student: A short label of who practised, or "".
    """
    return PracticeRun(
        id=session.id,
        case=case.id,
        case_digest=digest_of(case),
        protocol=session.protocol,
        protocol_digest=session.protocol_digest,
        seed=seed,
        student=student,
        begun=session.started,
        finished=now,
        asked=dict(interview.asked),
        patient=session.client,
        intake=session.intake,
        commitment=commitment,
        result=Result.of(score),
        trials=session.trials,
        skipped=session.skipped,
    )


def digest_of(case: Case) -> str:
    """``sha256:`` and the hash of a case's contents; layout and comments do not change it."""
    return "sha256:" + hashlib.sha256(case.model_dump_json().encode()).hexdigest()
