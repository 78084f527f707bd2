"""The safety gate: what outranks every weight."""

from __future__ import annotations

from collections.abc import Mapping

from screen_tui.engine.observe import Key, Observation
from screen_tui.engine.results import CautionRaised
from screen_tui.fields import Load, Precaution, Side, same_leg
from screen_tui.protocol.tests import TestSpec
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Intake, Session

PAIN_LIMIT = 5
"""Pain above this, of 10, is high risk (Ageberg 2010, BMC Musculoskelet Disord 11:126)."""

_HEAVINESS: dict[Load, int] = {"unloaded": 0, "both-legs": 1, "one-leg": 2, "floor": 2}


def cautions_raised(protocol: Protocol, session: Session) -> tuple[CautionRaised, ...]:
    """The safety questions answered yes, in the order of the protocol."""
    return tuple(
        CautionRaised(caution.id, caution.name, caution.means, caution.next_step, caution.source)
        for caution in protocol.cautions
        if caution.id in session.intake.cautions
    )


def unloaded_only(intake: Intake) -> bool:
    """Whether the weight-bearing order rules out every test in standing.

    Partial weight-bearing means between a third and a half of body weight in most
    definitions, so standing tests on the leg are not within it.
    """
    return intake.weight_bearing in ("none", "touch", "partial")


def loads_allowed(intake: Intake) -> frozenset[Load]:
    """The loads that the weight-bearing order allows.

    As tolerated allows standing on both legs; one leg and the floor wait until full load on
    one leg was confirmed (clinical judgement).
    """
    if unloaded_only(intake):
        return frozenset({"unloaded"})
    if intake.weight_bearing == "as-tolerated" and not intake.one_leg_confirmed:
        return frozenset({"unloaded", "both-legs"})
    return frozenset({"unloaded", "both-legs", "one-leg", "floor"})


def within_limits(intake: Intake, not_with: tuple[Precaution, ...]) -> bool:
    """Whether none of the limits that rule something out was set for this person."""
    return not set(not_with) & set(intake.precautions)


def why_too_painful(
    spec: TestSpec, side: Side | None, observations: Mapping[Key, Observation]
) -> str:
    """What no heavier, on that leg, already hurt too much to ask for this; "" when nothing did.

    Too much is pain above 5 of 10, or pain that limited every trial. A two-legged test loads
    either leg; so does whatever was painful on both.
    """
    for (_, seen_side), seen in observations.items():
        no_heavier = _HEAVINESS[seen.spec.load] <= _HEAVINESS[spec.load]
        if no_heavier and same_leg(side, seen_side):
            if (seen.worst_pain or 0) > PAIN_LIMIT:
                return f"Pain above {PAIN_LIMIT} of 10 in the {seen.spec.name.lower()}."
            if seen.pain_limited:
                return f"Pain limited the {seen.spec.name.lower()}."
    return ""
