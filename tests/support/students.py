"""Scripted students: one who errs in nothing, and one who is late, blind and sure."""

from __future__ import annotations

from screen_tui.practice.case import Case, Interview, TrueDriver
from screen_tui.practice.scoring import Commitment
from screen_tui.practice.staging import true_session
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Session, Trial

LATE_S = 0.6


def perfect_session(case: Case, protocol: ScreenProtocol, seed: int) -> Session:
    return true_session(case, protocol, seed)


def perfect_commitment(case: Case) -> Commitment:
    wanted = case.truth
    return Commitment(
        answer=wanted.answer,
        drivers=wanted.drivers if wanted.answer == "driver" else (),
        confidence=5,
        next_test=wanted.next_tests[0] if wanted.next_tests else None,
        start=wanted.start,
        leave_out=wanted.leave_out,
    )


def thorough_interview(case: Case) -> Interview:
    interview = Interview(case)
    for said in case.said:
        while interview.may_know_more(said.question):
            interview = interview.ask(said.question)
    return interview


def sloppy_session(case: Case, protocol: ScreenProtocol, seed: int) -> Session:
    """Every time too long by `LATE_S` or more, no sign seen but one that was not there."""
    session = true_session(case, protocol, seed)
    intake = session.intake.model_copy(update={"cautions": (), "weight_bearing": "full"})
    wrong = session.model_copy(update={"intake": intake, "trials": ()})
    # Whatever the case shows, also what nobody should have begun.
    unsafe = wrong_trials(case, protocol, session.trials)
    worse = [_worse(trial, protocol, place) for place, trial in enumerate(session.trials)]
    for trial in (*worse, *unsafe):
        wrong = wrong.with_trial(trial)
    return wrong


def wrong_trials(case: Case, protocol: ScreenProtocol, done: tuple[Trial, ...]) -> list[Trial]:
    """One trial of each test on each leg that the case shows and that was not done; no values."""
    seen = {(trial.test, trial.side) for trial in done}
    found: dict[tuple[str, str | None], Trial] = {}
    for shown in case.shown:
        key = (shown.test, shown.side)
        if key not in seen and protocol.test(shown.test).timer.kind != "measure":
            trial = Trial(test=shown.test, side=shown.side, direction=shown.direction)
            found.setdefault(key, trial)
    return list(found.values())


def _worse(trial: Trial, protocol: ScreenProtocol, place: int) -> Trial:
    spec = protocol.test(trial.test)
    false = [sign for sign in spec.signs if sign not in trial.signs][:1]
    changed: dict[str, object] = {"signs": tuple(false), "sign_times": {}}
    counted = spec.timer.kind in ("count-in-time", "repeat-hold")
    late = (2.0 if counted else LATE_S) + 0.1 * (place % 3)
    for name in ("value", "raw_value", "passive_deg", "active_deg"):
        number = getattr(trial, name)
        if number is not None:
            changed[name] = number + (round(late) if counted else late)
    return trial.model_copy(update=changed)


def sloppy_commitment(case: Case) -> Commitment:
    """Sure of a driver the author does not name."""
    named = {driver.driver for driver in case.truth.drivers}
    wrong = "balance" if "balance" not in named else "deconditioning"
    return Commitment(
        answer="driver",
        drivers=(TrueDriver(driver=wrong),),
        confidence=5,
        start=("one-leg-by-rail",),
        leave_out=("kneeling",),
    )
