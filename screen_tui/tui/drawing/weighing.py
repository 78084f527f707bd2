"""What speaks for and against a driver: the strongest first and whole, the rest short."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from screen_tui.engine.results import Counted, DriverWeight, Finding
from screen_tui.protocol.whole import Protocol
from screen_tui.report import words
from screen_tui.tui.drawing.rows import Row, Span, paragraph, row, rule
from screen_tui.tui.drawing.words import driver_name, short_source, test_name

_MOST_AGAINST = 2


def draw_strongest(
    protocol: Protocol, driver: DriverWeight, width: int, *, most: int = 3
) -> list[Row]:
    """The strongest findings for and against a driver, and what its standing rests on.

    Args:
        protocol: Gives the names and sources.
        driver: What was weighed.
        width: Columns there are.
        most: Findings for it that are shown; the others are left to `draw_rest`.
    """
    rows = [rule(width, f"Speaks for {driver_name(protocol, driver)}")]
    rows += _findings(protocol, _strongest(driver.speaks_for)[:most], "+", width)
    against = _strongest(driver.speaks_against)[:_MOST_AGAINST]
    if against:
        rows.append(rule(width, "Speaks against"))
        rows += _findings(protocol, against, "-", width)
    else:
        rows += paragraph("nothing found", width, first=row(Span("Speaks against: ", "strong")))
    if driver.rests_on:
        places = list(dict.fromkeys(_place(protocol, found) for found in driver.rests_on))
        without = "it" if len(places) == 1 else "any one of them"
        told = f"{'; '.join(places)}. Without {without} the answer would be weaker."
    else:
        told = "no single finding; with any one of them taken away it still stands."
    return [*rows, *paragraph(told, width, first=row(Span("Rests on: ", "strong")), indent=2)]


def draw_rest(protocol: Protocol, driver: DriverWeight, width: int, *, most: int = 3) -> list[Row]:
    """What `draw_strongest` left out; empty when that was nothing.

    What was not counted again is named by its tests alone: the note tells it in full.

    Args:
        protocol: Gives the names and sources.
        driver: What was weighed.
        width: Columns there are.
        most: As given to `draw_strongest`.
    """
    rows = _findings(protocol, _strongest(driver.speaks_for)[most:], "+", width)
    rows += _findings(protocol, _strongest(driver.speaks_against)[_MOST_AGAINST:], "-", width)
    for mark, findings in (("+", driver.speaks_for), ("-", driver.speaks_against)):
        again = Counter(
            _place(protocol, counted.finding) for counted in findings if not counted.counted
        )
        if again:
            seen = "; ".join(
                f"{place} ({times} findings)" if times > 1 else place
                for place, times in again.items()
            )
            text = f"also seen, not counted again: {seen}"
            rows += paragraph(text, width, "quiet", first=row(f"{mark} "))
    if not rows:
        return []
    return [rule(width, f"Also weighed: {driver_name(protocol, driver)}"), *rows]


def _strongest(findings: Sequence[Counted]) -> list[Counted]:
    """Those that were counted, the heaviest first."""
    counted = [one for one in findings if one.counted]
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
