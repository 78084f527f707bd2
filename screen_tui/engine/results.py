"""The vocabulary of an assessment: what `assess` gives back. Plain frozen dataclasses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screen_tui.fields import Side
from screen_tui.protocol.knowledge import Urgency

Standing = Literal["meets", "near the line", "short of the line", "not judged"]
DriverStanding = Literal["likely", "possible", "weak", "none", "against"]
Outcome = Literal[
    "likely", "mixed", "possible", "undetermined", "nothing-found", "refer-first", "unloaded-only"
]


@dataclass(frozen=True, slots=True)
class LineUsed:
    """The published line a result was held against."""

    id: str
    meets: str
    limit: float
    meaning: str
    population: str
    source: str


@dataclass(frozen=True, slots=True)
class ReferenceUsed:
    """The reference row that stands beside a result; it does not judge.

    ``percentile`` is None where the spread is unpublished or the sample reached the cap.
    """

    mean: float
    sd: float | None
    percentile: float | None
    population: str
    source: str
    provisional: bool


@dataclass(frozen=True, slots=True)
class Result:
    """One number of one test on one side, and how it stands.

    Attributes:
        short: For ``near the line``, whether the value is on the bad side of it; for the other
            standings, whether it is short.
        why_not: Why it was not judged; empty when it was.
        flags: Further lines the value is on the bad side of.
        symmetry_percent: The worse side as a share of the better, the same on both sides.
        slowing_percent: How much longer the last third of the splits is than the first.
        trials: The values of the trials that were considered, in order.
    """

    test: str
    side: Side | None
    measure: str
    label: str
    value: float | None
    unit: str
    decimals: int
    standing: Standing
    short: bool
    why_not: str
    line: LineUsed | None
    flags: tuple[LineUsed, ...]
    reference: ReferenceUsed | None
    near_within: float | None
    symmetry_percent: float | None
    slowing_percent: float | None
    trials: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that speaks for or against one driver on one side (None: the person).

    ``decibans`` is signed and already halved when the result is near its line or was seen in
    pain; independence is taken into account when it is counted.
    """

    driver: str
    side: Side | None
    test: str
    shows: str
    decibans: float
    strength: str
    reason: str
    source: str
    halved_because: str = ""


@dataclass(frozen=True, slots=True)
class Counted:
    """A finding with the weight it was given beside the others."""

    finding: Finding
    counted: float


@dataclass(frozen=True, slots=True)
class DriverWeight:
    """A driver on one side (None: the person), with all that speaks for and against it.

    ``rests_on`` are the findings of which any one, struck out, would lower the standing.
    """

    driver: str
    side: Side | None
    standing: DriverStanding
    weight: float
    speaks_for: tuple[Counted, ...]
    speaks_against: tuple[Counted, ...]
    rests_on: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class NextTest:
    """An untested item and how far, per minute, it is expected to move the ranking.

    ``cue`` names the cue when a repeat of a test already done is meant; else it is empty.
    """

    test: str
    side: Side | None
    cue: str
    expected_change: float
    minutes: float
    per_minute: float
    reason: str


@dataclass(frozen=True, slots=True)
class Start:
    """An exercise to start.

    Attributes:
        driver: The driver it is for; empty where none is named.
        why: What it is for where that is not the driver; else empty.
        with_helper: It is done only with somebody near.
    """

    exercise: str
    driver: str
    side: Side | None
    name: str
    position: str
    dose: str
    cue: str
    feel: str
    stop: str
    progress_when: str
    progress_to: str
    source: str
    why: str = ""
    with_helper: bool = False


@dataclass(frozen=True, slots=True)
class Left:
    """What is not started for now, and why."""

    id: str
    name: str
    reason: str
    source: str


@dataclass(frozen=True, slots=True)
class Plan:
    """What to start and what to leave out; both empty when nothing is settled."""

    start: tuple[Start, ...] = ()
    leave_out: tuple[Left, ...] = ()


@dataclass(frozen=True, slots=True)
class MeasureChange:
    """What a cue did to one number.

    ``error`` is the minimal detectable change (95 %); None where none is published, and then
    the ``verdict`` is ``not judged``; else it is ``better``, ``worse`` or ``within error``.
    """

    measure: str
    label: str
    unit: str
    decimals: int
    before: float
    after: float
    error: float | None
    verdict: str


@dataclass(frozen=True, slots=True)
class CueEffect:
    """What a test looked like when it was repeated with a cue: signs gone, still there, new."""

    test: str
    side: Side | None
    cue: str
    cured: tuple[str, ...]
    persists: tuple[str, ...]
    appeared: tuple[str, ...]
    changes: tuple[MeasureChange, ...]


@dataclass(frozen=True, slots=True)
class CautionRaised:
    """A safety question answered yes, or one to be answered as if it were.

    ``because`` says what stands for the yes, such as the reason testing was stopped for; it is
    empty where the question was answered. ``ask`` is what to do where it must be asked again.
    """

    id: str
    name: str
    urgency: Urgency
    means: str
    next_step: str
    source: str
    because: str = ""
    ask: str = ""


@dataclass(frozen=True, slots=True)
class PrecautionRaised:
    """What the plan must heed, and what made it arise.

    ``urgency`` says how soon somebody else should see the person meanwhile, where one should.
    """

    id: str
    words: str
    source: str
    urgency: Urgency | None = None


@dataclass(frozen=True, slots=True)
class Assessment:
    """The whole meaning of a session.

    Attributes:
        outcome: What kind of answer this is.
        headline: The answer in one sentence, without a diagnosis.
        leading: The driver, or drivers when mixed, that the outcome is about; best first.
        results: In the order of the battery.
        cue_effects: What each cue that was tried changed.
        drivers: Best first; sided drivers once per side.
        next_tests: What would settle it, most per minute first.
        not_done: (test, side, reason) of everything that was not done.
        remarks: What a reader must know, such as a protocol that has changed since.
        precautions: What arose from answers and findings, and the plan heeds.
    """

    outcome: Outcome
    headline: str
    leading: tuple[DriverWeight, ...]
    results: tuple[Result, ...]
    cue_effects: tuple[CueEffect, ...]
    drivers: tuple[DriverWeight, ...]
    next_tests: tuple[NextTest, ...]
    plan: Plan
    cautions: tuple[CautionRaised, ...]
    not_done: tuple[tuple[str, Side | None, str], ...]
    remarks: tuple[str, ...]
    precautions: tuple[PrecautionRaised, ...] = ()
