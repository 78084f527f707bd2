"""Gates within the battery: an earlier result that withholds a later test."""

from __future__ import annotations

from collections.abc import Mapping

from screen_tui.engine.conditions import Seen, holds
from screen_tui.engine.observe import Key, Observation, sides_of
from screen_tui.engine.safety import loads_allowed
from screen_tui.protocol.base import Load, Side
from screen_tui.protocol.battery import Gate
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Session

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
            reason = _why_closed(gate, side, seen)
            if reason:
                closed.setdefault((gate.withhold, side), reason)
    return closed


def loads_beyond(protocol: Protocol, closed: Mapping[Key, str]) -> frozenset[Load]:
    """The loads that a closed gate shows to be too much for now.

    Standing on one leg and rising from the floor only: lighter tests are withheld for being
    of no use, not for being unsafe (clinical judgement).
    """
    return frozenset(protocol.test(test).load for test, _ in closed) & _HARD_LOADS


def _why_closed(gate: Gate, side: Side | None, seen: Seen) -> str:
    for (test, seen_side), observation in seen.observations.items():
        if test != gate.after or not (side is None or seen_side is None or seen_side == side):
            continue
        if holds(gate.when, test, seen, observation):
            return gate.reason
        if _closes_in_pain(gate, observation):
            return f"Pain limited the {observation.spec.name.lower()}, which comes before it."
    return ""


def _closes_in_pain(gate: Gate, observation: Observation) -> bool:
    """A result too poor to go on from is no better for having been cut short by pain.

    A gate that closes on a good result, since the later test would add nothing, does not.
    """
    asks_for_poor = gate.when.at_most is not None or gate.when.standing == "short of the line"
    return asks_for_poor and observation.pain_limited
