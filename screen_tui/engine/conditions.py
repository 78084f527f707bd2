"""Whether the condition of a rule holds for what was seen on one side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from screen_tui.engine.cues import cue_effect
from screen_tui.engine.grade import ResultKey, grade
from screen_tui.engine.measures import worse_by_percent
from screen_tui.engine.observe import Key, Observation, observe, other
from screen_tui.engine.results import Result
from screen_tui.protocol.evidence import Condition
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Client, Session

TOGETHER_S = 1.0
"""Seconds within which two signs count as seen together, not one after the other.

Whoever watches two things must see the second, find its key and press it (clinical judgement).
"""


@dataclass(frozen=True, slots=True)
class Match:
    """A condition that holds, with what weakens it."""

    near: bool = False
    in_pain: bool = False

    def joined(self, more: Match) -> Match:
        """Both conditions hold; the weakness of either stays."""
        return Match(self.near or more.near, self.in_pain or more.in_pain)


@dataclass(frozen=True, slots=True)
class Seen:
    """All that was seen and graded, to look conditions up in."""

    client: Client
    observations: Mapping[Key, Observation]
    results: Mapping[ResultKey, Result]

    @classmethod
    def of(cls, protocol: Protocol, session: Session) -> Seen:
        """Observe and grade a session, once for all who ask."""
        observations = observe(protocol, session)
        return cls(session.client, observations, grade(protocol, session.client, observations))


def holds(condition: Condition, test: str, seen: Seen, observation: Observation) -> Match | None:
    """Whether the condition holds for that observation of the test; None when it does not.

    A two-legged test counts as both sides.
    """
    here = _holds_here(condition, test, seen, observation)
    if here is None or not (condition.both_sides or condition.only_this_side):
        return here
    if observation.side is None:
        return here if condition.both_sides else None
    opposite = seen.observations.get((test, other(observation.side)))
    if opposite is None or not opposite.plain:
        return None
    there = _holds_here(condition, test, seen, opposite)
    if condition.only_this_side:
        free = there is None and _could_tell(condition, test, seen, opposite)
        return here if free else None
    return None if there is None else here.joined(there)


def _could_tell(condition: Condition, test: str, seen: Seen, opposite: Observation) -> bool:
    """Whether the other side's number was good enough to say that it is free of what is here."""
    if condition.measure is None:
        return True
    result = seen.results.get((test, opposite.side, condition.measure))
    if result is None or result.value is None or opposite.pain_limited:
        return False
    return condition.standing is None or result.standing != "not judged"


def _holds_here(
    condition: Condition, test: str, seen: Seen, observation: Observation
) -> Match | None:
    if not observation.plain:
        return None
    match = Match()
    for part in (_signs, _in_order, _ended, _measure, _side_difference, _slowing, _cue):
        found = part(condition, test, seen, observation)
        if found is None:
            return None
        match = match.joined(found)
    return match


def _signs(condition: Condition, _test: str, _seen: Seen, observation: Observation) -> Match | None:
    signs, fair = observation.signs, observation.signs_without_pain
    wanted_any, wanted_all = set(condition.signs_any), set(condition.signs_all)
    if signs & set(condition.signs_none):
        return None
    if (wanted_any and not signs & wanted_any) or not wanted_all <= signs:
        return None
    asks = wanted_any or wanted_all
    enough_fair = (not wanted_any or fair & wanted_any) and wanted_all <= fair
    return Match(in_pain=bool(asks) and not enough_fair)


def _in_order(
    condition: Condition, _test: str, _seen: Seen, observation: Observation
) -> Match | None:
    if not condition.in_order:
        return Match()
    first, then = condition.in_order
    told = [t for t in observation.plain if first in t.sign_times and then in t.sign_times]
    if not told or any(t.sign_times[then] - t.sign_times[first] < TOGETHER_S for t in told):
        return None
    return Match(in_pain=all(t.pain_limited for t in told))


def _ended(condition: Condition, _test: str, _seen: Seen, observation: Observation) -> Match | None:
    if condition.ended_any and not observation.ended & set(condition.ended_any):
        return None
    return Match()


def _measure(condition: Condition, test: str, seen: Seen, observation: Observation) -> Match | None:
    if condition.standing is None and condition.at_least is None and condition.at_most is None:
        return Match()
    assert condition.measure is not None
    result = seen.results.get((test, observation.side, condition.measure))
    if result is None or result.value is None:
        return None
    if condition.at_least is not None and result.value < condition.at_least:
        return None
    if condition.at_most is not None and result.value > condition.at_most:
        return None
    if condition.standing is None:
        return None if observation.pain_limited else Match()
    if result.standing == "not judged" or result.short != (condition.standing != "meets"):
        return None
    return Match(near=result.standing == "near the line")


def _side_difference(
    condition: Condition, test: str, seen: Seen, observation: Observation
) -> Match | None:
    if condition.worse_than_other_percent is None:
        return Match()
    assert condition.measure is not None
    here = seen.results.get((test, observation.side, condition.measure))
    there = seen.results.get((test, other(observation.side), condition.measure))
    opposite = seen.observations.get((test, other(observation.side)))
    if observation.side is None or here is None or there is None or opposite is None:
        return None
    if here.value is None or there.value is None:
        return None
    if observation.pain_limited or opposite.pain_limited:
        return None
    measure = observation.spec.measure(condition.measure)
    worse = worse_by_percent(measure, here.value, there.value)
    return Match() if worse is not None and worse >= condition.worse_than_other_percent else None


def _slowing(condition: Condition, test: str, seen: Seen, observation: Observation) -> Match | None:
    if condition.slowing_percent is None:
        return Match()
    results = (seen.results.get((test, observation.side, m.id)) for m in observation.spec.measures)
    told = [r.slowing_percent for r in results if r and r.slowing_percent is not None]
    return Match() if any(slowing >= condition.slowing_percent for slowing in told) else None


def _cue(condition: Condition, _test: str, seen: Seen, observation: Observation) -> Match | None:
    if condition.cue is None:
        return Match()
    if not observation.with_cue(condition.cue):
        return None
    effect = cue_effect(seen.client, observation, condition.cue, seen.observations, seen.results)
    if condition.cured and not set(effect.cured) & set(condition.cured):
        return None
    if condition.persists and not set(effect.persists) & set(condition.persists):
        return None
    if condition.change is None:
        return Match()
    wanted = ("better",) if condition.change == "better" else ("within error", "worse")
    told = {change.measure: change.verdict for change in effect.changes}
    return Match() if told.get(condition.measure or "") in wanted else None
