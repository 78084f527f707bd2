"""From weights to an answer: which outcome this is, whom it is about, and one sentence for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from screen_tui.engine.grade import ResultKey
from screen_tui.engine.observe import Key, Observation
from screen_tui.engine.results import CautionRaised, DriverWeight, Outcome, Result
from screen_tui.engine.weigh import POSSIBLE, TIE, weights_less_one
from screen_tui.fields import Side
from screen_tui.protocol.whole import Protocol

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
    judged = {test for (test, _, _), one in results.items() if one.standing != "not judged"}
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


def headline_of(protocol: Protocol, outcome: Outcome, leading: Sequence[DriverWeight]) -> str:
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


def _names(protocol: Protocol, leading: Sequence[DriverWeight]) -> str:
    by_driver: dict[str, list[DriverWeight]] = {}
    for driver in leading:
        by_driver.setdefault(driver.driver, []).append(driver)
    parts = []
    for driver_id, entries in by_driver.items():
        side = side_words(entries)
        parts.append(protocol.driver(driver_id).name + (f" ({side})" if side else ""))
    return " and ".join(parts)
