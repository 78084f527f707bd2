"""Whether a student kept a simulated patient safe."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screen_tui.engine.gates import withheld_tests
from screen_tui.engine.offer import LIMITS
from screen_tui.engine.safety import loads_allowed, within_limits
from screen_tui.fields import Side
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Intake, Session, Trial


@dataclass(frozen=True, slots=True)
class UnsafeStart:
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
        must_refer: A safety question had to be answered yes.
        referred: The student's answer was to refer first.
        missed: Ids of the safety questions that had to be yes and were not ticked.
        raised_without_need: Ids of those that were ticked and had to be no.
        more_load: More load was ticked than the leg may bear.
        unsafe: What was begun and should not have been.
    """

    must_refer: bool
    referred: bool
    missed: tuple[str, ...]
    raised_without_need: tuple[str, ...]
    more_load: bool
    unsafe: tuple[UnsafeStart, ...]

    @property
    def refer_missed(self) -> bool:
        """Somebody who had to be referred first was not."""
        return self.must_refer and not self.referred

    @property
    def safe(self) -> bool:
        """Nobody was put at risk; referring without need is not unsafe."""
        return not (self.refer_missed or self.more_load or self.unsafe)


def safety(
    protocol: Protocol,
    right: Intake,
    session: Session,
    truly: Sequence[Trial | None],
    *,
    referred: bool,
) -> Safety:
    """Say how safe a run was.

    Args:
        protocol: The protocol.
        right: What the form holds when every answer was taken as it was meant.
        session: What the student recorded.
        truly: For each trial of the session what a perfect observer would have recorded; None
            where the case shows nothing.
        referred: The student's answer was to refer first.
    """
    ticked = session.intake.cautions
    return Safety(
        must_refer=bool(right.cautions),
        referred=referred,
        missed=tuple(one for one in right.cautions if one not in ticked),
        raised_without_need=tuple(one for one in ticked if one not in right.cautions),
        more_load=not loads_allowed(session.intake) <= loads_allowed(right),
        unsafe=_unsafe_starts(protocol, right, session, truly),
    )


def _unsafe_starts(
    protocol: Protocol, right: Intake, session: Session, truly: Sequence[Trial | None]
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
    protocol: Protocol, right: Intake, seen: Session, trial: Trial, side: Side | None
) -> str:
    """What spoke against a trial at the moment it began; "" where nothing did."""
    spec = protocol.test(trial.test)
    if right.cautions:
        return "Refer first: a safety question had to be answered yes."
    if spec.load not in loads_allowed(right):
        return "More load than the leg may bear."
    if not within_limits(right, spec.not_with):
        broken = [LIMITS[one] for one in right.precautions if one in spec.not_with]
        return f"Not with these limits: {', '.join(broken)}."
    if spec.load == "unloaded":
        # Lying tests are withheld where they add nothing; nobody comes to harm by them.
        return ""
    return withheld_tests(protocol, seen).get((spec.id, side), "")
