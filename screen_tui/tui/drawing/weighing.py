"""What speaks for and against a driver: the strongest first, what more there is to say later."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.engine.results import Counted, DriverWeight, Finding
from screen_tui.protocol.model import Protocol
from screen_tui.report import words
from screen_tui.report.reading_facts import (
    again_words,
    can_stand,
    counted_and_again,
    counts_against_fact,
    driver_standing,
    meaning_fact,
)
from screen_tui.tui.drawing.columns import column_width, side_by_side
from screen_tui.tui.drawing.rows import Row, Span, labelled, paragraph, row, rule
from screen_tui.tui.drawing.words import driver_name, short_source, sourced, test_name

MOST_FOR = 3
"""Findings for a driver that are shown at a glance, where there is room."""

_MOST_AGAINST = 2

_SIDE_BY_SIDE = 98
"""Columns of the body, in a window of 100, from which for and against stand in two columns."""


def draw_argument(
    protocol: Protocol, driver: DriverWeight, width: int, *, most: int = MOST_FOR
) -> list[Row]:
    """The strongest findings for and against a driver.

    Args:
        protocol: Gives the names and sources.
        driver: What was weighed.
        width: Columns there are; from a window of 100 on, the two stand side by side.
        most: Findings on each side that are shown; the others are left to `draw_more`. With 0
            the strongest of each side is named without its strength and source, and all of them
            are left to `draw_more`.
    """
    if not most:
        return _brief(protocol, driver, width)
    wide = width >= _SIDE_BY_SIDE
    column = column_width(width) if wide else width
    # One that does not lead is shown as the best of the rest, and says so.
    standing = "" if can_stand(driver) else f" ({driver.standing})"
    speaks_for = [
        rule(column, f"Speaks for {driver_name(protocol, driver)}{standing}"),
        *_findings(protocol, _strongest(driver.speaks_for)[:most], "+", column),
    ]
    shown = _strongest(driver.speaks_against)[: _against(most)]
    against = [
        rule(column, "Speaks against"),
        *_findings(protocol, shown, "-", column),
    ]
    if wide:
        nothing = [] if shown else [row("nothing found")]
        return side_by_side(speaks_for, [*against, *nothing], width)
    if shown:
        return [*speaks_for, *against]
    return [*speaks_for, *labelled("Speaks against", "nothing found", width)]


def _brief(protocol: Protocol, driver: DriverWeight, width: int) -> list[Row]:
    rows = [rule(width, f"For (+) and against (-) {driver_name(protocol, driver)}")]
    for mark, findings in (("+", driver.speaks_for), ("-", driver.speaks_against)):
        for counted in _strongest(findings)[:1]:
            found = counted.finding
            text = f"{_place(protocol, found)}: {found.reason}"
            rows += paragraph(text, width, first=row(Span(f"{mark} ", "strong")))
    if not _strongest(driver.speaks_against):
        rows += labelled("Speaks against", "nothing found", width)
    return rows


def draw_rests(protocol: Protocol, drivers: Sequence[DriverWeight], width: int) -> list[Row]:
    """What each of the drivers rests on, where it stands at all."""
    rows: list[Row] = []
    for driver in drivers:
        if not can_stand(driver):
            continue
        lead = "Rests on" if len(drivers) == 1 else f"{driver_name(protocol, driver)} rests on"
        told = _rests_words(protocol, driver)
        rows += labelled(lead, told, width)
    return rows


def _rests_words(protocol: Protocol, driver: DriverWeight) -> str:
    if not driver.rests_on:
        return "no single finding; with any one of them taken away it still stands."
    places = list(dict.fromkeys(_place(protocol, found) for found in driver.rests_on))
    without = "it" if len(places) == 1 else "any one of them"
    return f"{'; '.join(places)}. Without {without} the answer would be weaker."


def draw_more(
    protocol: Protocol, driver: DriverWeight, width: int, *, most: int = MOST_FOR
) -> list[Row]:
    """The rest of what there is to say on a driver: meaning, weight, and all further findings.

    Args:
        protocol: Gives the names and sources.
        driver: What was weighed.
        width: Columns there are.
        most: As given to `draw_argument`.
    """
    rows = [rule(width, f"More on {driver_name(protocol, driver)}")]
    if (meaning := meaning_fact(protocol, driver)) is not None:
        rows += labelled(meaning.label, sourced(protocol, meaning), width)
    rows += labelled("Stands as", driver_standing(driver), width)
    rest_for = _strongest(driver.speaks_for)[most:]
    rest_against = _strongest(driver.speaks_against)[_against(most) :]
    rows += _findings(protocol, rest_for, "+", width)
    rows += _again(protocol, driver.speaks_for, "+", width)
    rows += _findings(protocol, rest_against, "-", width)
    rows += _again(protocol, driver.speaks_against, "-", width)
    if (against := counts_against_fact(protocol, driver)) is not None:
        rows += labelled(against.label, sourced(protocol, against), width)
    return rows


def _again(protocol: Protocol, findings: Sequence[Counted], mark: str, width: int) -> list[Row]:
    _, again = counted_and_again(findings)
    if not again:
        return []
    seen = "; ".join(again_words(protocol, again))
    text = f"also seen, not counted again: {seen}"
    return paragraph(text, width, "quiet", first=row(f"{mark} "))


def _against(most: int) -> int:
    return min(most, _MOST_AGAINST)


def _strongest(findings: Sequence[Counted]) -> list[Counted]:
    """Those that were counted, the heaviest first."""
    counted, _ = counted_and_again(findings)
    return sorted(counted, key=lambda one: abs(one.counted), reverse=True)


def _findings(protocol: Protocol, findings: Sequence[Counted], mark: str, width: int) -> list[Row]:
    rows: list[Row] = []
    for counted in findings:
        found = counted.finding
        # In full is the rule and goes without saying; what was taken off is said.
        strength = words.counted_words(counted).removesuffix(", counted in full")
        told = f"{strength}; {short_source(protocol, found.source)}"
        text = f"{_place(protocol, found)}: {found.reason} ({told})"
        rows += paragraph(text, width, first=row(Span(f"{mark} ", "strong")))
    return rows


def _place(protocol: Protocol, found: Finding) -> str:
    return test_name(protocol, found.test, found.side)
