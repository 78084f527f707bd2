"""Which tests of the battery are offered to a person before anything was tested, and why not."""

from __future__ import annotations

from screen_tui.engine.safety import loads_allowed
from screen_tui.fields import Load, Precaution
from screen_tui.protocol.battery import BatteryItem
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Intake, WeightBearing

REFER_FIRST = "a safety question was answered yes: refer first"

LIMITS: dict[Precaution, str] = {
    "brace": "a brace is worn",
    "bend-limited": "bending is limited",
    "no-kneeling": "no kneeling",
    "no-active-extension": "no active straightening of the knee",
}

_LOAD_NEEDED: dict[Load, str] = {
    "unloaded": "no load",
    "both-legs": "load on both legs",
    "one-leg": "full load on one leg",
    "floor": "full load while rising from the floor",
}
_LOAD_ALLOWED: dict[WeightBearing, str] = {
    "full": "full",
    "as-tolerated": "as tolerated, with full load on one leg not confirmed",
    "partial": "partial",
    "touch": "touch only",
    "none": "none",
}


def why_not_offered(
    protocol: Protocol, intake: Intake, item: BatteryItem, *, despite_cautions: bool = False
) -> str:
    """Why a test of the battery is not offered, in words; empty when it is offered.

    Args:
        protocol: The protocol.
        intake: What was asked before testing.
        item: The test and the goals it is for.
        despite_cautions: Go on although a safety question was answered yes.
    """
    if intake.cautions and not despite_cautions:
        return REFER_FIRST
    load = protocol.test(item.test).load
    if load not in loads_allowed(intake):
        allowed = _LOAD_ALLOWED[intake.weight_bearing]
        return f"needs {_LOAD_NEEDED[load]}; weight-bearing is {allowed}"
    limits = [LIMITS[one] for one in intake.precautions if one in protocol.test(item.test).not_with]
    if limits:
        return f"not with these limits: {', '.join(limits)}"
    if not item.fits(intake.goals):
        return f"meant for the goals {', '.join(item.goals)}, none of which was named"
    return ""
