"""What outranks every weight: safety answers, load, limits, pain, and gates within the battery."""

from __future__ import annotations

from collections.abc import Mapping

from screen_tui.engine.conditions import Seen, holds
from screen_tui.engine.observe import Key, Observation, sides_of
from screen_tui.engine.results import CautionRaised
from screen_tui.fields import Load, Precaution, Side, same_leg
from screen_tui.protocol.model import BatteryItem, Gate, ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Intake, Session, WeightBearing, speaks_against_harder_tests

PAIN_LIMIT = 5
"""Pain above this, of 10, is high risk (Ageberg 2010, BMC Musculoskelet Disord 11:126)."""

_HEAVINESS: dict[Load, int] = {"unloaded": 0, "both-legs": 1, "one-leg": 2, "floor": 2}


def cautions_raised(protocol: ScreenProtocol, session: Session) -> tuple[CautionRaised, ...]:
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


_HARD_LOADS: frozenset[Load] = frozenset({"one-leg", "floor"})


def closed_gates(
    protocol: ScreenProtocol, session: Session, seen: Seen | None = None
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
            if _kept_open(gate, side, seen):
                continue
            reason = _why_closed(protocol, gate, side, session, seen)
            if reason:
                closed.setdefault((gate.withhold, side), reason)
    return closed


def withheld_tests(protocol: ScreenProtocol, session: Session) -> Mapping[Key, str]:
    """Every test and side that is not to be asked for after what was seen, with the reason.

    What the gates of the battery close, and what something no heavier already hurt too much for.
    A test that was done stays done.
    """
    seen = Seen.of(protocol, session)
    withheld = dict(closed_gates(protocol, session, seen))
    for spec in protocol.tests:
        for side in sides_of(spec):
            done = seen.observations.get((spec.id, side))
            if done is None or not done.plain:
                reason = why_too_painful(spec, side, seen.observations)
                if reason:
                    withheld.setdefault((spec.id, side), reason)
    return withheld


def loads_beyond(protocol: ScreenProtocol, closed: Mapping[Key, str]) -> frozenset[Load]:
    """The loads that a closed gate shows to be too much for now.

    Standing on one leg and rising from the floor only: lighter tests are withheld for being
    of no use, not for being unsafe (clinical judgement).
    """
    return frozenset(protocol.test(test).load for test, _ in closed) & _HARD_LOADS


def _kept_open(gate: Gate, side: Side | None, seen: Seen) -> bool:
    """Whether a sign was seen on that leg that contradicts the number the gate goes by."""
    return any(
        set(gate.unless_signs) & observation.signs
        for (_, seen_side), observation in seen.observations.items()
        if same_leg(side, seen_side)
    )


def _why_closed(
    protocol: ScreenProtocol, gate: Gate, side: Side | None, session: Session, seen: Seen
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
        elif holds(gate.when, seen, observation):
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


WHEN_ASKED = "offered when asked for"
"""Why a test that nothing speaks against is no part of the usual visit."""

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
    protocol: ScreenProtocol, intake: Intake, item: BatteryItem, *, despite_cautions: bool = False
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
    if item.when_asked:
        return WHEN_ASKED
    if not item.fits(intake.goals):
        return f"meant for the goals {', '.join(item.goals)}, none of which was named"
    return ""
