"""The whole meaning of a session in one pure call."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from screen_tui.engine import answer, safety
from screen_tui.engine.comparable import shown_apart
from screen_tui.engine.conditions import Seen
from screen_tui.engine.findings import Causes, evidence_of, levels_for
from screen_tui.engine.next_tests import MOST, next_tests, worth_undoing
from screen_tui.engine.observe import contradiction
from screen_tui.engine.offered import not_called_for
from screen_tui.engine.plan import Allowed, as_given, edited, make_plan, pointers, spoken_against
from screen_tui.engine.results import Assessment, Plan
from screen_tui.fields import Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Addendum, Session, Trial


def assess(protocol: ScreenProtocol, session: Session, saved: Session | None = None) -> Assessment:
    """Grade, weigh and plan. Deterministic; the same session gives the same answer.

    What is unsafe outranks every chance: a safety answer gives ``refer-first``, no driver and no
    plan. A session with addenda is judged as they amend it, and each that changed a trial is
    remarked on; its plan is what was planned that day.

    Args:
        saved: The session before its addenda, where it does not hold them itself.
    """
    found = _judged(protocol, session)
    if saved is None and any(one.changes_a_trial for one in session.addenda):
        saved = session.model_copy(update={"addenda": ()})
    if saved is None or saved.trials == session.as_amended.trials:
        return found
    allowed = Allowed.of(Seen.of(protocol, session))
    plan, remarks = as_given(allowed, _judged(protocol, saved).plan, found)
    return replace(found, plan=plan, remarks=(*found.remarks, *remarks))


def _judged(protocol: ScreenProtocol, session: Session) -> Assessment:
    seen = Seen.of(protocol, session)
    session = seen.session
    cautions = safety.by_urgency(
        [*safety.cautions_raised(protocol, session), *safety.contradicted_answers(seen)]
    )
    allowed = Allowed.of(seen)
    observations, results = seen.observations, seen.results
    refer = bool(cautions)
    evidence = () if refer else evidence_of(seen)
    causes = Causes.of(protocol)
    order = [trial.test for trial in session.trials]
    belief = answer.believe(
        causes, answer.prior_chances(protocol, session, causes), evidence, order
    )
    drivers = () if refer else answer.drivers_of(belief, evidence)
    leading = answer.named(drivers, session.intake)
    closed = safety.closed_gates(seen)
    uncalled = not_called_for(protocol, session.intake, seen)
    outcome = answer.outcome_of(seen, leading, drivers, refer=refer)
    stopped = bool(refer or session.stopped)

    def may_be_offered(spec: TestSpec, side: Side | None) -> bool:
        return (
            spec.load in allowed.loads
            and not safety.why_not_allowed(protocol, session.intake, spec)
            and (spec.id, side) not in closed
            and not uncalled.get((spec.id, side))
            and not any(skip.covers(spec.id, side) for skip in session.skipped)
            and not safety.why_too_painful(spec, side, observations)
        )

    settled = stopped or outcome == "nothing-found"
    return Assessment(
        outcome=outcome,
        headline=safety.refer_first_headline(cautions)
        if refer
        else answer.headline_of(protocol, outcome, leading, drivers, session.intake),
        leading=leading,
        results=tuple(results.values()),
        cue_effects=seen.effects,
        drivers=drivers,
        next_tests=()
        if settled
        else (
            *worth_undoing(protocol, drivers, evidence, may_be_offered),
            *next_tests(
                seen,
                belief,
                {(one.trait, one.leg) for one in evidence},
                may_be_offered,
            ),
        )[:MOST],
        plan=Plan()
        if stopped or not observations
        else edited(
            make_plan(
                allowed,
                [(driver.driver, driver.side) for driver in leading],
                spoken_against(drivers),
            ),
            session.plan,
        ),
        cautions=cautions,
        precautions=tuple(allowed.precautions),
        not_done=tuple((skip.test, skip.side, skip.reason) for skip in session.skipped),
        outside=() if refer else pointers(seen, drivers),
        remarks=(
            *_remarks(protocol, session),
            *_without_figures(seen),
            *shown_apart(protocol, session, observations),
        ),
    )


def stopped_remark(session: Session) -> str:
    """That a session was stopped, and why."""
    return f"The session was stopped before its end: {session.stopped}"


def _without_figures(seen: Seen) -> Iterator[str]:
    """That numbers of tests count for nothing at this age, where no level has a limit for it."""
    client = seen.session.client
    names = [
        spec.short_name
        for spec in seen.protocol.tests
        if spec.graded
        and any(key[0] == spec.id and one.value is not None for key, one in seen.results.items())
        and not any(levels_for(graded, client) for graded in spec.graded)
    ]
    if names:
        yield (
            f"At the age of {client.age} there are no figures to rank by for {', '.join(names)}: "
            "the ranking rests on signs, angles and the other leg."
        )


def _remarks(protocol: ScreenProtocol, session: Session) -> tuple[str, ...]:
    remarks = []
    if session.stopped:
        remarks.append(stopped_remark(session))
    if session.protocol in protocol.battery.formerly:
        remarks.append(f"The test set was called {session.protocol} then.")
    elif session.protocol != protocol.battery.id:
        remarks.append(
            f"The session was made with the test set {session.protocol}; "
            f"it is read here by {protocol.battery.id}."
        )
    if session.protocol_digest and session.protocol_digest != protocol.digest:
        remarks.append(
            "The protocol has changed since this session was made; it is read by today's."
        )
    if session.under_way is not None:
        known = protocol.known_test(session.under_way.test)
        name = known.name if known else session.under_way.test
        remarks.append(f"A trial of {name} was under way when the program ended; it is not used.")
    remarks += [
        _amended(protocol, session, number, addendum)
        for number, addendum in enumerate(session.addenda, start=1)
        if addendum.changes_a_trial and session.holds(number)
    ]
    for place, trial in enumerate(session.trials, start=1):
        spec = protocol.known_test(trial.test)
        against = contradiction(spec, trial) if spec and trial.counts else ""
        if spec and against:
            named = _named(protocol, place, trial)
            remarks.append(f"{named[0].upper()}{named[1:]} was not used: {against}.")
    return tuple(remarks)


def _amended(protocol: ScreenProtocol, session: Session, number: int, addendum: Addendum) -> str:
    """That a trial is not judged as it was saved; the note says why and when."""
    place = addendum.trial or 0
    named = _named(protocol, place, session.trials[place - 1])
    if addendum.struck_out:
        return f"Addendum {number} voids {named}."
    return f"Addendum {number} corrects the value of {named} to {addendum.value:g}."


def _named(protocol: ScreenProtocol, place: int, trial: Trial) -> str:
    spec = protocol.known_test(trial.test)
    side = f", {trial.side}" if trial.side else ""
    return f"trial {place} ({spec.name if spec else trial.test}{side})"
