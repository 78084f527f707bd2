"""How a student did: what was recorded and committed to, held against what was there to see."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated, Literal, NamedTuple

from pydantic import Field, model_validator

from screen_tui.engine.answer import SUPPORTS
from screen_tui.engine.assess import assess
from screen_tui.engine.conditions import Seen
from screen_tui.engine.results import Assessment
from screen_tui.engine.safety import URGENCY, loads_allowed, why_not_allowed, withheld_tests
from screen_tui.fields import Id, Side, Strict
from screen_tui.practice.agreement import Counts, Limits, brier, limits_of_agreement
from screen_tui.practice.case import (
    Answer,
    Case,
    Interview,
    TrueDriver,
    TrueTest,
    Truth,
    true_intake,
    wrong_ticks,
)
from screen_tui.practice.staging import Scene, played, true_session, true_trial
from screen_tui.protocol.knowledge import Urgency
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import FreeText, Intake, Session, Trial


class Commitment(Strict):
    """The answer of a student; without ``next_test``, nothing more is to be tested.

    ``how_soon`` is, for ``refer-first``, how soon somebody must see the person, and so who.
    """

    answer: Answer
    drivers: Annotated[tuple[TrueDriver, ...], Field(max_length=2)] = ()
    confidence: Annotated[int, Field(ge=1, le=5)]
    next_test: TrueTest | None = None
    start: Annotated[tuple[Id, ...], Field(max_length=9)] = ()
    leave_out: Annotated[tuple[Id, ...], Field(max_length=9)] = ()
    how_soon: Urgency | None = None
    why: FreeText = ""

    @property
    def next_tests(self) -> tuple[TrueTest, ...]:
        """The next test as a row of none or one, to stand beside those of others."""
        return (self.next_test,) if self.next_test else ()

    @model_validator(mode="after")
    def _drivers_belong_to_a_driver(self) -> Commitment:
        if self.how_soon is not None and self.answer != "refer-first":
            raise ValueError('how_soon belongs to answer = "refer-first"')
        if (self.answer == "driver") != bool(self.drivers):
            raise ValueError('drivers and answer = "driver" belong together')
        if len({named.driver for named in self.drivers}) != len(self.drivers):
            raise ValueError("names one driver twice; its sides are left, right or both")
        return self


def program_answers(found: Assessment, protocol: ScreenProtocol) -> Truth:
    """What the program answers, as far as a student can: limits after surgery are no choice."""
    choices = {one.id for one in protocol.leave_out}
    sides: dict[str, list[Side | None]] = {}
    for leading in found.leading:
        sides.setdefault(leading.driver, []).append(leading.side)
    return Truth(
        outcome=found.outcome,
        drivers=tuple(
            TrueDriver(driver=name, side="both" if len(of) > 1 else of[0])
            for name, of in sides.items()
        )[:2],
        reasons=(found.headline,),
        next_tests=tuple(
            TrueTest(test=n.test, side=n.side, cue=n.cue) for n in found.next_tests[:6]
        ),
        start=tuple(start.exercise for start in found.plan.start)[:6],
        leave_out=tuple(left.id for left in found.plan.leave_out if left.id in choices)[:9],
    )


@dataclass(frozen=True, slots=True)
class Agreement:
    """How far a student's answer is somebody else's.

    Attributes:
        right: The same answer, drivers and sides: what confidence is held against.
        next_test: The next test is one of theirs, or neither wants one.
    """

    right: bool
    next_test: bool
    start: float
    leave_out: float


def agreement(given: Commitment, wanted: Truth) -> Agreement:
    """Hold a student's answer against another."""
    return Agreement(
        right=given.answer == wanted.answer and {*given.drivers} == {*wanted.drivers},
        next_test=given.next_test in wanted.next_tests
        if given.next_test
        else not wanted.next_tests,
        start=overlap(given.start, wanted.start),
        leave_out=overlap(given.leave_out, wanted.leave_out),
    )


def overlap(one: Iterable[str], other: Iterable[str]) -> float:
    """What two lists have in common as a share of all that is in either; 1 for two empty ones.

    Jaccard P 1912. The distribution of the flora in the alpine zone. New Phytol 11:37-50 (from
    memory).
    """
    mine, theirs = set(one), set(other)
    return len(mine & theirs) / len(mine | theirs) if mine | theirs else 1.0


class UnsafeStart(NamedTuple):
    """A test that was begun and should not have been, the first time it was.

    ``why`` says what spoke against it at that moment, whether or not the student had noticed.
    """

    test: str
    side: Side | None
    why: str


@dataclass(frozen=True, slots=True)
class Safety:
    """How safe a run was.

    Attributes:
        how_soon: How soon somebody must see the person; None where nobody must.
        soon_enough: Just that was said, or sooner; None where nobody must be referred, or was.
        more_load: More load was ticked than the leg may bear.
    """

    referred: bool
    how_soon: Urgency | None
    soon_enough: bool | None
    missed: tuple[str, ...]
    raised_without_need: tuple[str, ...]
    more_load: bool
    unsafe: tuple[UnsafeStart, ...]

    @property
    def must_refer(self) -> bool:
        return self.how_soon is not None

    @property
    def refer_missed(self) -> bool:
        return self.must_refer and not self.referred

    @property
    def safe(self) -> bool:
        """Nobody was put at risk; referring without need is not unsafe."""
        return not (self.refer_missed or self.more_load or self.unsafe)


def safety(
    protocol: ScreenProtocol,
    right: Intake,
    session: Session,
    truly: Sequence[Trial | None],
    given: Commitment,
) -> Safety:
    """Say how safe a run was; ``truly`` has the right trial for each, None where there is none."""
    ticked, order = session.intake.cautions, list(URGENCY)
    urgencies = [one.urgency for one in protocol.cautions if one.id in right.cautions]
    how_soon = min(urgencies, key=order.index, default=None)
    soon_enough = None
    if how_soon is not None and given.answer == "refer-first":
        soon_enough = given.how_soon in order[: order.index(how_soon) + 1]
    return Safety(
        referred=given.answer == "refer-first",
        how_soon=how_soon,
        soon_enough=soon_enough,
        missed=tuple(one for one in right.cautions if one not in ticked),
        raised_without_need=tuple(one for one in ticked if one not in right.cautions),
        more_load=not loads_allowed(protocol, session.intake) <= loads_allowed(protocol, right),
        unsafe=_unsafe_starts(protocol, right, session, truly),
    )


def _unsafe_starts(
    protocol: ScreenProtocol, right: Intake, session: Session, truly: Sequence[Trial | None]
) -> tuple[UnsafeStart, ...]:
    found: dict[tuple[str, Side | None], UnsafeStart] = {}
    seen = session.model_copy(update={"intake": right, "trials": ()})
    for trial, true in zip(session.trials, truly, strict=True):
        spec = protocol.known_test(trial.test)
        if spec is None:
            continue
        side = trial.side if spec.sided else None
        why = _why_unsafe(protocol, right, seen, trial, side)
        if why and (trial.test, side) not in found:
            found[trial.test, side] = UnsafeStart(trial.test, side, why)
        if true is not None and trial.counts:
            seen = seen.with_trial(true)
    return tuple(found.values())


def _why_unsafe(
    protocol: ScreenProtocol, right: Intake, seen: Session, trial: Trial, side: Side | None
) -> str:
    spec = protocol.test(trial.test)
    if right.cautions:
        return "Refer first: a safety question had to be answered yes."
    if why := why_not_allowed(protocol, right, spec):
        return f"{why[0].upper()}{why[1:].rstrip('.')}."
    if spec.load == "unloaded":
        # Nobody comes to harm by a lying test.
        return ""
    return withheld_tests(Seen.of(protocol, seen)).get((spec.id, side), "")


Unit = Literal["s", "repetitions"]
UNITS: tuple[Unit, ...] = ("s", "repetitions")


@dataclass(frozen=True, slots=True)
class Pair:
    """One time or count of one trial: as it was, and as the student has it.

    What a tool shows is put in words, and so it is no measurement of the student's.
    """

    scene: Scene
    unit: Unit
    true: float
    measured: float

    @property
    def error(self) -> float:
        """Measured less true: above zero, too long or too many."""
        return self.measured - self.true


class SignPair(NamedTuple):
    """One sign in one trial."""

    scene: Scene
    sign: str
    there: bool
    marked: bool


@dataclass(frozen=True, slots=True)
class Score:
    """How one run went.

    Attributes:
        ends: (trial, as it was, as recorded) of those that ended for another reason.
        needed: The tests, and the repeats with a cue, on which the program's answer rests.
    """

    pairs: tuple[Pair, ...]
    signs: tuple[SignPair, ...]
    ends: tuple[tuple[Scene, str, str], ...]
    wrong_ticks: tuple[str, ...]
    unasked: tuple[str, ...]
    safety: Safety
    needed: tuple[TrueTest, ...]
    not_done: tuple[TrueTest, ...]
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
        return Counts.of((pair.there, pair.marked) for pair in self.signs)


def score(
    case: Case,
    protocol: ScreenProtocol,
    seed: int,
    session: Session,
    commitment: Commitment,
    interview: Interview | None = None,
) -> Score:
    """Score one run.

    Trials that were struck out count neither for nor against anybody, but they were played, so
    the trial after them is the next one of the case.
    """
    truly = [
        None if timeline is None else true_trial(protocol.test(trial.test), timeline)
        for trial, timeline in played(case, protocol, session, seed)
    ]
    on_case = assess(protocol, true_session(case, protocol, seed))
    with_author = agreement(commitment, case.truth)
    needed = needed_for(on_case)
    done = {(trial.test, trial.side, trial.cue) for trial in session.trials if trial.counts}
    compared = [
        (protocol.test(trial.test), trial, true)
        for trial, true in zip(session.trials, truly, strict=True)
        if true is not None and trial.counts
    ]
    return Score(
        pairs=tuple(pair for one in compared for pair in _pairs(*one)),
        signs=tuple(
            SignPair(Scene.of(trial), sign, sign in true.signs, sign in trial.signs)
            for spec, trial, true in compared
            for sign in spec.signs
        ),
        ends=tuple(
            (Scene.of(trial), true.ended, trial.ended)
            for _, trial, true in compared
            if trial.ended != true.ended
        ),
        wrong_ticks=wrong_ticks(case, session.intake),
        unasked=() if interview is None else interview.left_unasked,
        safety=safety(protocol, true_intake(case), session, truly, commitment),
        needed=needed,
        not_done=tuple(one for one in needed if (one.test, one.side, one.cue) not in done),
        with_author=with_author,
        with_engine=agreement(commitment, program_answers(on_case, protocol)),
        engine_on_case=on_case,
        engine_on_record=assess(protocol, session),
        brier=brier(commitment.confidence, right=with_author.right),
    )


def needed_for(found: Assessment) -> tuple[TrueTest, ...]:
    """What an answer rests on: the tests without any one of which it would be weaker.

    Where none of them is needed alone, those that speak for it; and every repeat with a cue that
    does so.
    """
    tests = [
        TrueTest(test=finding.test, side=finding.side, cue=finding.cue)
        for leading in found.leading
        for finding in leading.speaks_for
        if (
            finding.factor >= SUPPORTS
            if finding.cue
            else finding.test in (leading.rests_on or leading.supported_by)
        )
    ]
    return tuple(dict.fromkeys(tests))


def _pairs(spec: TestSpec, trial: Trial, true: Trial) -> list[Pair]:
    there, got = exact(true), exact(trial)
    if spec.timer.numbers or there is None or got is None:
        return []
    if true.value is None or trial.value is None:
        return []
    unit: Unit = "repetitions" if spec.timer.counts else "s"
    return [Pair(Scene.of(trial), unit, there, got)]


def exact(trial: Trial) -> float | None:
    """A trial's value as it was timed, or as it was corrected by hand."""
    corrected = trial.corrected_from is not None or bool(trial.correction)
    return trial.value if corrected or trial.raw_value is None else trial.raw_value
