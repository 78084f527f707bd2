"""The whole meaning of a session in one pure call."""

from __future__ import annotations

from screen_tui.engine.answer import headline_of, leading_drivers, outcome_of
from screen_tui.engine.conditions import Seen
from screen_tui.engine.gates import gate_reason
from screen_tui.engine.grade import grade
from screen_tui.engine.observe import Key, observe, sides_of
from screen_tui.engine.plan import make_plan
from screen_tui.engine.results import Assessment, Plan
from screen_tui.engine.safety import cautions_raised, loads_allowed, unloaded_only
from screen_tui.engine.suggest import suggest
from screen_tui.engine.weigh import find, weigh
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Session


def assess(protocol: Protocol, session: Session) -> Assessment:
    """Grade, weigh and plan. Deterministic; the same session gives the same answer.

    Gates outrank weight: a safety answer gives ``refer-first``, no driver and no plan.
    """
    cautions = cautions_raised(protocol, session)
    results = grade(protocol, session)
    observations = observe(protocol, session)
    findings = () if cautions else find(protocol, Seen(observations, results))
    drivers = () if cautions else weigh(protocol, findings)
    leading = leading_drivers(drivers)
    loads = loads_allowed(session.intake)
    outcome = outcome_of(
        cautions, unloaded_only(session.intake), leading, drivers, results, observations
    )
    stopped = bool(cautions or session.stopped)
    return Assessment(
        outcome=outcome,
        headline=headline_of(protocol, outcome, leading),
        leading=leading,
        results=tuple(results.values()),
        drivers=drivers,
        next_tests=()
        if stopped
        else suggest(
            protocol, drivers, findings, observations, loads, _withheld(protocol, session)
        ),
        plan=Plan()
        if stopped
        else make_plan(protocol, leading, drivers, observations, session.intake.goals, loads),
        cautions=cautions,
        not_done=tuple((skip.test, skip.side, skip.reason) for skip in session.skipped),
        remarks=_remarks(protocol, session),
    )


def _withheld(protocol: Protocol, session: Session) -> frozenset[Key]:
    """What a gate closed, or the therapist chose not to do, is not suggested again."""
    closed: set[Key] = {(skip.test, skip.side) for skip in session.skipped}
    for gate in protocol.battery.gates:
        for side in sides_of(protocol.test(gate.withhold)):
            if gate_reason(protocol, session, gate.withhold, side):
                closed.add((gate.withhold, side))
    return frozenset(closed)


def _remarks(protocol: Protocol, session: Session) -> tuple[str, ...]:
    remarks = []
    if session.stopped:
        remarks.append(f"The screen was stopped before its end: {session.stopped}")
    if session.protocol != protocol.battery.id:
        remarks.append(
            f"The session was made with the battery {session.protocol}; "
            f"it is read here by {protocol.battery.id}."
        )
    if session.protocol_digest and session.protocol_digest != protocol.digest:
        remarks.append(
            "The protocol has changed since this session was made; it is read by today's."
        )
    return tuple(remarks)
