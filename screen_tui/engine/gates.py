"""Gates within the battery: an earlier result that withholds a later test."""

from __future__ import annotations

from collections.abc import Mapping

from screen_tui.engine.conditions import Seen, holds
from screen_tui.engine.observe import Key, Observation, sides_of
from screen_tui.engine.safety import loads_allowed, why_too_painful
from screen_tui.fields import Load, Side, same_leg
from screen_tui.protocol.battery import Gate
from screen_tui.protocol.tests import TestSpec
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Session
from screen_tui.session.skip_reasons import speaks_against_harder_tests

_HARD_LOADS: frozenset[Load] = frozenset({"one-leg", "floor"})


def closed_gates(
    protocol: Protocol, session: Session, seen: Seen | None = None
) -> Mapping[Key, str]:
    """Every test and side that is withheld after what was seen so far, with the reason.

    A two-legged test is withheld when the gate closes on either side; a one-legged test is
    withheld on the side whose gate closes, and on both after a two-legged test. A gate that is
    for full load only stays open for those who may not put it on one leg.

    Args:
        protocol: The protocol.
        session: What happened.
        seen: The session observed and graded, by those who have done so already.
    """
    seen = seen or Seen.of(protocol, session)
    full_load = "one-leg" in loads_allowed(session.intake)
    closed: dict[Key, str] = {}
    for gate in protocol.battery.gates:
        if gate.full_load_only and not full_load:
            continue
        for side in sides_of(protocol.test(gate.withhold)):
            reason = _why_closed(protocol, gate, side, session, seen)
            if reason:
                closed.setdefault((gate.withhold, side), reason)
    return closed


def withheld_tests(
    protocol: Protocol, session: Session, seen: Seen | None = None
) -> Mapping[Key, str]:
    """Every test and side that is not to be asked for after what was seen, with the reason.

    What the gates of the battery close, and what something no heavier already hurt too much for.
    A test that was done stays done.
    """
    seen = seen or Seen.of(protocol, session)
    withheld = dict(closed_gates(protocol, session, seen))
    for spec in protocol.tests:
        for side in sides_of(spec):
            done = seen.observations.get((spec.id, side))
            if done is None or not done.plain:
                reason = why_too_painful(spec, side, seen.observations)
                if reason:
                    withheld.setdefault((spec.id, side), reason)
    return withheld


def loads_beyond(protocol: Protocol, closed: Mapping[Key, str]) -> frozenset[Load]:
    """The loads that a closed gate shows to be too much for now.

    Standing on one leg and rising from the floor only: lighter tests are withheld for being
    of no use, not for being unsafe (clinical judgement).
    """
    return frozenset(protocol.test(test).load for test, _ in closed) & _HARD_LOADS


def _why_closed(
    protocol: Protocol, gate: Gate, side: Side | None, session: Session, seen: Seen
) -> str:
    before = protocol.test(gate.after)
    asks_for_poor = not _closes_on_a_good_result(before, gate)
    for seen_side in sides_of(before):
        if not same_leg(side, seen_side):
            continue
        observation = seen.observations.get((before.id, seen_side))
        if observation is None or not observation.plain:
            reason = _why_skipped(session, before, seen_side)
            if reason and asks_for_poor:
                return f"{before.name}, which comes before it, was left out: {reason}."
        elif holds(gate.when, before.id, seen, observation):
            return gate.reason
        elif asks_for_poor and (why := _too_poor(observation)):
            return f"{why} the {before.name.lower()}, which comes before it."
    return ""


def _closes_on_a_good_result(before: TestSpec, gate: Gate) -> bool:
    """Whether the later test would add nothing to a good earlier one, rather than be unsafe."""
    when = gate.when
    if when.measure is None:
        return False
    good_end = when.at_least if before.measure(when.measure).better == "higher" else when.at_most
    return when.standing == "meets" or good_end is not None


def _too_poor(observation: Observation) -> str:
    """Why a result is too poor to go on from, whatever its number; "" when it is not."""
    if "unsafe" in observation.ended:
        return "It became unsafe in"
    return "Pain limited" if observation.pain_limited else ""


def _why_skipped(session: Session, spec: TestSpec, side: Side | None) -> str:
    """Why the test was left out on that leg, where that speaks against harder ones; or ""."""
    return next(
        (
            skip.reason
            for skip in session.skipped
            if skip.covers(spec.id, side) and speaks_against_harder_tests(skip.reason)
        ),
        "",
    )
