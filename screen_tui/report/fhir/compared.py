"""What a result is held against, in the terms of an observation.

"Normal" is never said: a line describes the group it was measured in.
"""

from __future__ import annotations

from screen_tui.engine.results import LineUsed, Result
from screen_tui.protocol.model import Protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report.fhir.datatypes import Data, concept, quantity, standard
from screen_tui.report.result_facts import compared_facts
from screen_tui.report.words import limit_words, standing_words
from screen_tui.session.model import Client

_IN_RANGES = ("Line", "Standing", "On the bad side of a further line")
"""The facts that stand in the reference ranges and the interpretation."""

_NUMBER_BELOW, _NUMBER_ABOVE = ("L", "Low"), ("H", "High")


def interpretation(result: Result) -> Data:
    """How it stands, in words; low or high, which speak of the number, only where it is short."""
    words = standing_words(result)
    if result.standing != "short of the line" or result.line is None:
        return concept(words)
    low = result.line.meets in ("at least", "more than")
    code, display = _NUMBER_BELOW if low else _NUMBER_ABOVE
    return concept(words, standard("v3-ObservationInterpretation", code, display))


def reference_ranges(
    protocol: Protocol, spec: TestSpec, result: Result, client: Client, ucum: str | None
) -> list[Data]:
    """The line that judges, then those that warn; each with whom it is for and its source."""
    lines = [result.line] if result.line else []
    return [_range(protocol, spec, result, line, client, ucum) for line in [*lines, *result.flags]]


def _range(
    protocol: Protocol,
    spec: TestSpec,
    result: Result,
    line: LineUsed,
    client: Client,
    ucum: str | None,
) -> Data:
    limit = quantity(line.limit, result.unit, ucum)
    side = "low" if line.meets in ("at least", "more than") else "high"
    words = limit_words(line, result.decimals, result.unit)
    source = _source_words(protocol, line.source)
    made: Data = {
        side: limit,
        "text": f"{words}: {line.meaning}; {line.population}.{source}",
    }
    known = next((one for one in spec.lines if one.id == line.id), None)
    bands = known.limits if known is not None else ()
    band = next((one for one in bands if one.holds(client.age, client.sex)), None)
    if band is not None:
        made["age"] = {
            "low": quantity(band.from_age, "years", "a"),
            "high": quantity(band.to_age, "years", "a"),
        }
        if band.sex != "any":
            made["appliesTo"] = [concept(band.sex)]
    return made


def notes(protocol: Protocol, spec: TestSpec, result: Result) -> list[str]:
    """The comparisons that are no range: reference mean, sides, slowing, each with its source."""
    return [
        f"{fact.label}: {fact.text}.{_source_words(protocol, fact.source)}"
        for fact in compared_facts(spec, result)
        if fact.label not in _IN_RANGES
    ]


def _source_words(protocol: Protocol, source_id: str | None) -> str:
    citation = next((one.citation for one in protocol.sources if one.id == source_id), "")
    return f" Source: {citation}" if citation else ""
