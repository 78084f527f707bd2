"""What outranks every weight: safety answers, load, limits, pain, and gates within the battery."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from screen_tui.engine.conditions import Seen, holds
from screen_tui.engine.observe import Key, Observation, sides_of
from screen_tui.engine.results import CautionRaised, PrecautionRaised
from screen_tui.fields import LEGS, Load, Precaution, Side, same_leg
from screen_tui.protocol.knowledge import Caution, Circumstance, LimitRule, SeenIn, Urgency
from screen_tui.protocol.model import Gate, ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import (
    TRIED_UNABLE,
    Intake,
    Session,
    WeightBearing,
    speaks_against_harder_tests,
)

PAIN_LIMIT = 5
"""Pain above this, of 10, is high risk (Ageberg 2010, BMC Musculoskelet Disord 11:126)."""

_HEAVINESS: dict[Load, int] = {"unloaded": 0, "both-legs": 1, "one-leg": 2, "floor": 2}

URGENCY: dict[Urgency, str] = {
    "now": "now: call the emergency number",
    "today": "today: a doctor sees this person",
    "days": "within days: a doctor sees this person first",
}
"""How soon, in words, the most urgent first. Local policy decides the rest."""


def cautions_raised(protocol: ScreenProtocol, session: Session) -> tuple[CautionRaised, ...]:
    """The safety questions answered yes, or by what testing was stopped for; the soonest first."""
    age = session.client.age
    answered = [_raised(one, age) for one in protocol.cautions if one.id in session.intake.cautions]
    stopped = [
        _raised(caution, age, because=f"testing was stopped: {session.stopped.rstrip('.')}")
        for caution in protocol.cautions
        if caution.id not in session.intake.cautions
        and any(_says(session.stopped, words) for words in caution.stop_words)
    ]
    return by_urgency([*answered, *stopped])


def contradicted_answers(seen: Seen) -> tuple[CautionRaised, ...]:
    """The safety questions whose no the findings contradict: each must be asked again.

    Nothing is started until it was. A question that was known and cleared was not answered no.
    """
    intake, age = seen.session.intake, seen.session.client.age
    known = {*intake.cautions, *(one.caution for one in intake.cleared)}
    found = [
        _raised(seen.protocol.caution(rule.caution), age, because="; ".join(because), ask=rule.ask)
        for rule in seen.protocol.contradictions
        if rule.caution not in known
        if (because := arisen(rule.any_of, seen))
    ]
    return by_urgency(found)


def by_urgency(cautions: Sequence[CautionRaised]) -> tuple[CautionRaised, ...]:
    """The most urgent first; equally urgent ones stay in their order."""
    order = list(URGENCY)
    return tuple(sorted(cautions, key=lambda caution: order.index(caution.urgency)))


def refer_first_headline(cautions: Sequence[CautionRaised]) -> str:
    """The answer in a sentence or two, how soon first; the first of the cautions is the soonest."""
    soonest = cautions[0]
    if soonest.ask:
        return f"Refer first. {soonest.ask}"
    how_soon = f"Refer first, {URGENCY[soonest.urgency]}, according to local policy"
    why = soonest.because or "a safety question was answered yes"
    return f"{how_soon}. {why[0].upper()}{why[1:].rstrip('.')}; no driver is suggested."


def _raised(caution: Caution, age: int, because: str = "", ask: str = "") -> CautionRaised:
    shared = ("id", "name", "means", "next_step", "source")
    texts = {name: getattr(caution, name) for name in shared}
    return CautionRaised(**texts, urgency=caution.urgency_at(age), because=because, ask=ask)


def _says(text: str, words: str) -> bool:
    """Whether a text holds the words as whole words; "numb" is not in "number"."""
    return re.search(rf"\b{re.escape(words)}\b", text, re.IGNORECASE) is not None


def precautions_raised(seen: Seen) -> tuple[PrecautionRaised, ...]:
    """What the plan must heed, with what made it arise, in the order of the protocol."""
    return tuple(
        PrecautionRaised(rule.id, f"{rule.words} ({'; '.join(because)})", rule.source, rule.urgency)
        for rule in seen.protocol.precautions
        if (because := arisen(rule.any_of, seen))
    )


def arisen(circumstances: Sequence[Circumstance], seen: Seen) -> list[str]:
    """Which of the circumstances hold for the person and what was seen, each in its words."""
    return [
        one.because
        for one in circumstances
        if _of_person(one, seen)
        and any(all(_was_seen(part, side, seen) for part in one.seen) for side in _knees(one, seen))
    ]


def _of_person(one: Circumstance, seen: Seen) -> bool:
    """Whether all holds that is no finding of a leg."""
    intake, weeks = seen.session.intake, seen.session.intake.recent_surgery_weeks
    raised = {*intake.cautions, *(cleared.caution for cleared in intake.cleared)}
    pains = [one.worst_pain for one in seen.observations.values()]
    return (
        (one.from_age is None or seen.session.client.age >= one.from_age)
        and (one.to_age is None or seen.session.client.age <= one.to_age)
        and (not one.surgery or intake.surgery in one.surgery)
        and (one.weeks_from is None or (weeks is not None and weeks >= one.weeks_from))
        and (one.weeks_below is None or (weeks is not None and weeks < one.weeks_below))
        and (not one.alone_at_home or intake.alone_at_home is True)
        and (not one.cautions or bool(raised & set(one.cautions)))
        and all(
            set(intake.history.get(question, ())) & set(answers)
            for question, answers in one.history.items()
        )
        and (
            one.pain_above is None
            or any((pain or 0) > one.pain_above for pain in (intake.pain_now, *pains))
        )
    )


def _knees(one: Circumstance, seen: Seen) -> Iterator[Side]:
    """The knees on which it may hold: both, those complained of, or those without surgery.

    The history is that of the knee complained of; surgery is within the year.
    """
    intake = seen.session.intake
    after_surgery = intake.surgery is not None or intake.recent_surgery_weeks is not None
    for side in LEGS:
        operated = after_surgery and intake.side in (side, "both")
        if not (one.not_operated and operated) and (not one.history or intake.complains_of(side)):
            yield side


def _was_seen(part: SeenIn, side: Side, seen: Seen) -> bool:
    spec = seen.protocol.known_test(part.test)
    if spec is None:
        return False
    leg = side if spec.sided else None
    observation = seen.observations.get((spec.id, leg))
    if part.when is not None:
        return observation is not None and holds(part.when, seen, observation)
    left_out = (skip for skip in seen.session.skipped if skip.covers(spec.id, leg))
    return any(skip.reason == TRIED_UNABLE for skip in left_out) or (
        observation is not None and "unable" in observation.ended
    )


def limits_after_surgery(protocol: ScreenProtocol, intake: Intake) -> tuple[LimitRule, ...]:
    """The rules on what is not done yet after this person's surgery, in the protocol's order."""
    weeks = intake.recent_surgery_weeks
    if weeks is None:
        return ()
    return tuple(
        rule
        for rule in protocol.limits
        if weeks < rule.weeks_below
        and (not rule.surgery or intake.surgery in rule.surgery)
        and not (rule.until_confirmed and intake.one_leg_confirmed)
    )


def limits_of(protocol: ScreenProtocol, intake: Intake) -> tuple[Precaution, ...]:
    """The limits that were set, and those that hold as if they had been."""
    implied = (one for rule in limits_after_surgery(protocol, intake) for one in rule.sets)
    return tuple(dict.fromkeys([*intake.precautions, *implied]))


def unloaded_only(intake: Intake) -> bool:
    """Whether the weight-bearing order rules out every test in standing.

    Partial weight-bearing means between a third and a half of body weight in most
    definitions, so standing tests on the leg are not within it.
    """
    return intake.weight_bearing in ("none", "touch", "partial")


def _loads_ordered(intake: Intake) -> frozenset[Load]:
    """The loads that the weight-bearing order allows.

    As tolerated allows standing on both legs; one leg and the floor wait until full load on
    one leg was confirmed (clinical judgement).
    """
    if unloaded_only(intake):
        return frozenset({"unloaded"})
    if intake.weight_bearing == "as-tolerated" and not intake.one_leg_confirmed:
        return frozenset({"unloaded", "both-legs"})
    return frozenset({"unloaded", "both-legs", "one-leg", "floor"})


def loads_allowed(protocol: ScreenProtocol, intake: Intake) -> frozenset[Load]:
    """The loads that the order on weight-bearing and the time since surgery allow."""
    waiting = (load for rule in limits_after_surgery(protocol, intake) for load in rule.loads)
    return _loads_ordered(intake) - frozenset(waiting)


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


def closed_gates(seen: Seen, *, for_exercises: bool = False) -> Mapping[Key, str]:
    """Every test and side that is withheld after what was seen so far, with the reason.

    For exercises, without what the gates of a test alone close. A two-legged test is withheld when
    the gate closes on either side; a one-legged test is withheld on the side whose gate closes,
    and on both after a two-legged test.
    """
    closed: dict[Key, str] = {}
    for gate in seen.protocol.battery.gates:
        if for_exercises and gate.test_alone:
            continue
        for side in sides_of(seen.protocol.test(gate.withhold)):
            reason = _why_closed(gate, side, seen)
            if reason:
                closed.setdefault((gate.withhold, side), reason)
    return closed


def withheld_tests(seen: Seen) -> Mapping[Key, str]:
    """Every test and side that is not to be asked for after what was seen, with the reason.

    What the gates of the battery close, and what something no heavier already hurt too much for.
    A test that was done stays done.
    """
    withheld = dict(closed_gates(seen))
    for spec in seen.protocol.tests:
        for side in sides_of(spec):
            reason = why_too_painful(spec, side, seen.observations)
            if reason and not seen.done(spec.id, side):
                withheld.setdefault((spec.id, side), reason)
    return withheld


def loads_left(seen: Seen) -> frozenset[Load]:
    """The loads allowed, but for those that a closed gate shows to be too much for now.

    Standing on one leg and rising from the floor only: a lighter test may be withheld for being
    of no use, and not for being unsafe (clinical judgement).
    """
    closed = closed_gates(seen, for_exercises=True)
    loads = frozenset(seen.protocol.test(test).load for test, _ in closed)
    return loads_allowed(seen.protocol, seen.session.intake) - (loads & _HARD_LOADS)


def _why_closed(gate: Gate, side: Side | None, seen: Seen) -> str:
    before = seen.protocol.test(gate.after)
    asks_for_poor = not _closes_on_a_good_result(before, gate)
    for seen_side in sides_of(before):
        if not same_leg(side, seen_side):
            continue
        observation = seen.done(before.id, seen_side)
        if observation is None:
            reason = _why_skipped(seen.session, before, seen_side)
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


def why_not_allowed(protocol: ScreenProtocol, intake: Intake, spec: TestSpec) -> str:
    """Why orders, limits or the time since surgery rule a test out, in words; "" if they do not."""
    if spec.load not in _loads_ordered(intake):
        allowed = _LOAD_ALLOWED[intake.weight_bearing]
        return f"needs {_LOAD_NEEDED[spec.load]}; weight-bearing is {allowed}"
    limits = [LIMITS[one] for one in intake.precautions if one in spec.not_with]
    if limits:
        return f"not with these limits: {', '.join(limits)}"
    for rule in limits_after_surgery(protocol, intake):
        if spec.id in rule.tests or spec.load in rule.loads or set(spec.not_with) & set(rule.sets):
            return rule.reason
    return ""
