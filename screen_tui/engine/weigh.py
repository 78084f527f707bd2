"""Step two: what the findings say about each driver, added up, and the answer they give."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from screen_tui.engine.conditions import Match, Seen, holds
from screen_tui.engine.grade import ResultKey
from screen_tui.engine.observe import Key, Observation
from screen_tui.engine.results import (
    CautionRaised,
    Counted,
    DriverStanding,
    DriverWeight,
    Finding,
    Outcome,
    Result,
)
from screen_tui.fields import Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import EvidenceRule

LIKELY, POSSIBLE, TIE = 10.0, 5.0, 3.0
"""Decibans: likely from here, possible from here, and no telling apart within this."""


def find(protocol: ScreenProtocol, seen: Seen) -> tuple[Finding, ...]:
    """Every rule of every test that applies to what was seen, as a finding."""
    found = []
    for (test, side), observation in seen.observations.items():
        for rule in observation.spec.evidence:
            if rule.about_strength and observation.pain_limited:
                continue
            match = holds(rule.when, seen, observation)
            if match is not None:
                found.append(as_finding(protocol, rule, test, side, match))
    return tuple(found)


def as_finding(
    protocol: ScreenProtocol, rule: EvidenceRule, test: str, side: Side | None, match: Match
) -> Finding:
    """The finding that a rule makes; near its line or seen in pain it counts half."""
    because = "near the line" if match.near else "seen in pain" if match.in_pain else ""
    return Finding(
        driver=rule.driver,
        side=side if protocol.driver(rule.driver).sided else None,
        test=test,
        shows=rule.shows,
        decibans=rule.decibans / 2 if because else rule.decibans,
        strength=rule.strength,
        reason=rule.reason,
        source=rule.source,
        halved_because=because,
    )


def count(findings: Iterable[Finding]) -> tuple[Counted, ...]:
    """Give each finding its weight beside the others.

    Findings that show the same thing are not independent: the strongest counts in full, the
    strongest of those from another test half, more count nothing. What speaks for and what
    speaks against are counted apart. Strongest first.
    """
    groups: dict[tuple[str, bool], list[Finding]] = {}
    for finding in findings:
        groups.setdefault((finding.shows, finding.decibans > 0), []).append(finding)
    counted = [one for group in groups.values() for one in _count_group(group)]
    return tuple(sorted(counted, key=lambda c: (-abs(c.counted), -abs(c.finding.decibans))))


def _count_group(group: list[Finding]) -> list[Counted]:
    first, *rest = sorted(group, key=lambda finding: -abs(finding.decibans))
    counted = [Counted(first, first.decibans)]
    second_used = False
    for finding in rest:
        second = not second_used and finding.test != first.test
        counted.append(Counted(finding, finding.decibans / 2 if second else 0.0))
        second_used = second_used or second
    return counted


def weight_of(findings: Iterable[Finding]) -> float:
    """The sum of the counted decibans."""
    return sum(one.counted for one in count(findings))


def standing_of(findings: Sequence[Finding]) -> DriverStanding:
    """How a driver stands on these findings.

    ``likely`` needs ten decibans from at least two tests, and must stay at least ``possible``
    when any single sighting is taken away. Only findings that count speak for a test.
    """
    weight = weight_of(findings)
    if weight >= LIKELY:
        tests = {one.finding.test for one in count(findings) if one.counted > 0}
        survives = all(weight_of(_without(findings, one)) >= POSSIBLE for one in findings)
        if len(tests) >= 2 and survives:
            return "likely"
    if weight >= POSSIBLE:
        return "possible"
    if weight > 0:
        return "weak"
    return "against" if weight < 0 else "none"


def _without(findings: Sequence[Finding], struck: Finding) -> list[Finding]:
    """All but that sighting.

    Whoever doubts that the pelvis dropped in stance doubts every rule that read it there, so
    the weaker findings of the same thing in the same test go with the struck one.
    """
    return [finding for finding in findings if _sighting(finding) != _sighting(struck)]


def _sighting(finding: Finding) -> tuple[str, Side | None, str, bool]:
    return finding.test, finding.side, finding.shows, finding.decibans > 0


def weights_less_one(driver: DriverWeight) -> tuple[float, ...]:
    """The driver's weight with each of its findings taken away in turn."""
    findings = [one.finding for one in (*driver.speaks_for, *driver.speaks_against)]
    return tuple(weight_of(_without(findings, one)) for one in findings)


def weigh(protocol: ScreenProtocol, findings: Sequence[Finding]) -> tuple[DriverWeight, ...]:
    """Every driver on every side it can have, heaviest first; ties keep the protocol's order.

    A finding about no side, from a two-legged test, speaks to both sides.
    """
    weighed = []
    for driver in protocol.drivers:
        sides: tuple[Side | None, ...] = ("left", "right") if driver.sided else (None,)
        for side in sides:
            mine = [f for f in findings if f.driver == driver.id and f.side in (None, side)]
            weighed.append(_weigh_one(driver.id, side, mine))
    return tuple(sorted(weighed, key=lambda driver: -driver.weight))


def _weigh_one(driver: str, side: Side | None, findings: Sequence[Finding]) -> DriverWeight:
    counted = count(findings)
    standing = standing_of(findings)
    return DriverWeight(
        driver=driver,
        side=side,
        standing=standing,
        weight=weight_of(findings),
        speaks_for=tuple(one for one in counted if one.finding.decibans > 0),
        speaks_against=tuple(one for one in counted if one.finding.decibans < 0),
        rests_on=tuple(
            one.finding
            for one in counted
            if one.counted > 0 and standing_of(_without(findings, one.finding)) != standing
        ),
    )


NOTHING_BELOW = 3.0
"""Decibans: when no driver reaches one slight finding, nothing speaks for any."""

ENOUGH_TESTS = 4
"""Tests that told something, needed before "nothing found" is said (clinical judgement).

A test with numbers told something when one of them was held against a line; a test that is only
watched, when it was watched without a cue.
"""


def leading_drivers(drivers: Sequence[DriverWeight]) -> tuple[DriverWeight, ...]:
    """The driver, or the two that cannot be told apart, on top; empty when none is possible.

    A driver found on both sides within the tie leads with both its sides; that is one driver.
    """
    able = [driver for driver in drivers if driver.weight >= POSSIBLE]
    if not able:
        return ()
    top = able[0]
    rival = next((d for d in able if d.driver != top.driver and top.weight - d.weight <= TIE), None)
    if rival is not None:
        return (top, rival)
    fellow = next((d for d in able[1:] if d.driver == top.driver), None)
    if fellow is not None and top.weight - fellow.weight <= TIE:
        return (top, fellow)
    return (top,)


def keeps_lead(leader: DriverWeight, drivers: Sequence[DriverWeight]) -> bool:
    """Whether no single finding, taken away from any driver, puts another driver level or ahead."""
    rivals = [driver for driver in drivers if driver.driver != leader.driver]
    return all(
        weight > rival.weight for rival in rivals for weight in weights_less_one(leader)
    ) and all(leader.weight > weight for rival in rivals for weight in weights_less_one(rival))


def outcome_of(
    cautions: Sequence[CautionRaised],
    unloaded: bool,
    leading: Sequence[DriverWeight],
    drivers: Sequence[DriverWeight],
    results: Mapping[ResultKey, Result],
    observations: Mapping[Key, Observation],
) -> Outcome:
    """What kind of answer this is. Gates outrank weight."""
    if cautions:
        return "refer-first"
    if unloaded:
        return "unloaded-only"
    if leading:
        if len({driver.driver for driver in leading}) > 1:
            return "mixed"
        strong = leading[0].standing == "likely" and keeps_lead(leading[0], drivers)
        return "likely" if strong else "possible"
    return "nothing-found" if _nothing_found(drivers, results, observations) else "undetermined"


def _nothing_found(
    drivers: Sequence[DriverWeight],
    results: Mapping[ResultKey, Result],
    observations: Mapping[Key, Observation],
) -> bool:
    """Enough was tested, none of it is short or in pain, and nothing speaks for any driver."""
    judged = {test for (test, _, _), one in results.items() if one.line is not None}
    watched = {
        test for (test, _), one in observations.items() if one.plain and not one.spec.measures
    }
    return (
        len(judged | watched) >= ENOUGH_TESTS
        and not any(result.short for result in results.values())
        and not any(observation.pain_limited for observation in observations.values())
        and all(driver.weight < NOTHING_BELOW for driver in drivers)
    )


def side_words(drivers: Sequence[DriverWeight]) -> str:
    """The side in words, as it stands behind a driver's name; empty for the person.

    Two sides led only by two-legged tests have not been told apart, and that is said.
    """
    sides = {driver.side for driver in drivers}
    if sides == {"left", "right"}:
        told = any(c.finding.side for driver in drivers for c in driver.speaks_for)
        return "both sides" if told else "side not told apart"
    side: Side | None = drivers[0].side
    return side or ""


def headline_of(protocol: ScreenProtocol, outcome: Outcome, leading: Sequence[DriverWeight]) -> str:
    """The answer in one sentence."""
    match outcome:
        case "refer-first":
            return "Refer first: a safety question was answered yes, so no driver is suggested."
        case "nothing-found":
            return "Nothing found: results meet the lines there are; nothing speaks for a driver."
        case "undetermined":
            return "Undetermined: what was found does not point to one driver."
        case "unloaded-only" if not leading:
            return "Unloaded tests only: they do not point to one driver."
    names = _names(protocol, leading)
    match outcome:
        case "likely":
            return f"Likely driver: {names}."
        case "possible":
            return f"Possible driver: {names}; not settled."
        case "unloaded-only":
            return f"Unloaded tests only; they point to: {names}."
        case _:
            return f"Mixed: {names} cannot be told apart yet."


def _names(protocol: ScreenProtocol, leading: Sequence[DriverWeight]) -> str:
    by_driver: dict[str, list[DriverWeight]] = {}
    for driver in leading:
        by_driver.setdefault(driver.driver, []).append(driver)
    parts = []
    for driver_id, entries in by_driver.items():
        side = side_words(entries)
        parts.append(protocol.driver(driver_id).name + (f" ({side})" if side else ""))
    return " and ".join(parts)
