"""The safety gate: what outranks every weight."""

from __future__ import annotations

from screen_tui.engine.results import CautionRaised
from screen_tui.protocol.base import Load
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Intake, Session


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
