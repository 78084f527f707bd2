"""Gates within the battery: an earlier result that withholds a later test."""

from __future__ import annotations

from screen_tui.engine.conditions import Seen, holds
from screen_tui.engine.grade import grade
from screen_tui.engine.observe import observe
from screen_tui.engine.safety import loads_allowed
from screen_tui.protocol.base import Side
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Session


def gate_reason(
    protocol: Protocol, session: Session, test_id: str, side: Side | None
) -> str | None:
    """Why a test is withheld on a side after what was seen so far, or None when it is not.

    A two-legged test is withheld when the gate closes on either side; a one-legged test is
    withheld on the side whose gate closes, and on both after a two-legged test. A gate that is
    for full load only stays open for those who may not put it on one leg.
    """
    full_load = "one-leg" in loads_allowed(session.intake)
    gates = [
        gate
        for gate in protocol.battery.gates
        if gate.withhold == test_id and (full_load or not gate.full_load_only)
    ]
    if not gates:
        return None
    seen = Seen(observe(protocol, session), grade(protocol, session))
    for gate in gates:
        for (test, seen_side), observation in seen.observations.items():
            concerns = side is None or seen_side is None or seen_side == side
            if test == gate.after and concerns and holds(gate.when, test, seen, observation):
                return gate.reason
    return None
