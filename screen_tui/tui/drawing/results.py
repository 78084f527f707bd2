"""The results: one row each with its bar, then what it is held against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screen_tui.engine.results import Result
from screen_tui.protocol.model import Protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report import words
from screen_tui.report.facts import Fact
from screen_tui.report.result_facts import (
    FROM_ONE_TRIAL,
    FROM_SIGNS,
    compared_facts,
    measure_of,
    scored_fact,
)
from screen_tui.tui.drawing.bar import LEGEND, Scale, draw_bar, end_labels, scale_for
from screen_tui.tui.drawing.rows import Ink, Row, Span, cells, paragraph, row, rule
from screen_tui.tui.drawing.words import result_amount, sourced, test_name

_INDENT = 2
_SIDE = 6
_GAP = 2
_MOST_CELLS = 36
_WORDS = 25
_WORDS_NARROW = 17
"""Columns of the words beside a bar: of all of them, or of the longest but one."""

_NARROW = 76


@dataclass(frozen=True, slots=True)
class _Group:
    """The results of one number, of each side tested."""

    spec: TestSpec | None
    results: tuple[Result, ...]
    scale: Scale | None


@dataclass(frozen=True, slots=True)
class _Layout:
    """What all rows share, so that values, bars and words stand in columns.

    Attributes:
        width: Columns there are.
        amount: Columns of the values.
        before: Columns of the number before a bar, and ``after`` of that after it.
        cells: Cells of each bar.
    """

    width: int
    amount: int
    before: int
    after: int
    cells: int

    @classmethod
    def of(cls, groups: Sequence[_Group], width: int) -> _Layout:
        amount = max(cells(result_amount(one)) for group in groups for one in group.results)
        labels = [end_labels(group.scale) for group in groups if group.scale]
        before = max((len(one) for one, _ in labels), default=0)
        after = max((len(one) for _, one in labels), default=0)
        words_cells = _WORDS_NARROW if width < _NARROW else _WORDS
        used = _INDENT + _SIDE + amount + _GAP + before + after + _GAP + words_cells
        return cls(width, amount, before, after, min(width - used, _MOST_CELLS))


def draw_results(protocol: Protocol, results: Sequence[Result], width: int) -> list[Row]:
    """Draw all results, the sides of one number under each other and on the same scale.

    Args:
        protocol: Gives the names, the sources and where a scale ends.
        results: In the order to draw them; none is said too.
        width: Columns there are.
    """
    rows = [rule(width, "Results")]
    if not results:
        return [*rows, row("Nothing was measured.")]
    if any(result.line for result in results):
        rows += paragraph(f"Bar: {LEGEND}", width, "quiet", indent=2)
    groups = _groups(protocol, results)
    layout = _Layout.of(groups, width)
    for group in groups:
        rows += paragraph(_name(protocol, group), width, "strong")
        for result in group.results:
            rows += _one(group, result, layout)
        for text in _details(protocol, group):
            rows += paragraph(text, width, "quiet", first=row(" " * _INDENT), indent=2 * _INDENT)
    return rows


def _groups(protocol: Protocol, results: Sequence[Result]) -> list[_Group]:
    found: dict[tuple[str, str], list[Result]] = {}
    for result in results:
        found.setdefault((result.test, result.measure), []).append(result)
    return [
        _Group(spec, tuple(group), _scale(spec, group))
        for (test, _), group in found.items()
        for spec in [protocol.known_test(test)]
    ]


def _name(protocol: Protocol, group: _Group) -> str:
    """The test, and which of its numbers where it yields several."""
    result = group.results[0]
    name = test_name(protocol, result.test, None)
    several = group.spec is not None and len(group.spec.measures) > 1
    return f"{name}: {result.label}" if several else name


def _scale(spec: TestSpec | None, group: Sequence[Result]) -> Scale | None:
    values = [result.value for result in group if result.value is not None]
    if not values:
        return None
    judged = next((result for result in group if result.line), group[0])
    limit = judged.line.limit if judged.line else None
    return scale_for(values, limit, judged.near_within, _most(spec, judged))


def _most(spec: TestSpec | None, result: Result) -> float | None:
    """The most the number can be: the cap of a hold, or the N of a score out of N."""
    measure = measure_of(spec, result)
    cap = spec.timer.cap if spec and measure and measure.taken_from == "value" else None
    if cap is not None:
        return cap
    out_of = result.unit.removeprefix("of ")
    return float(out_of) if out_of != result.unit and out_of.isdecimal() else None


def _one(group: _Group, result: Result, layout: _Layout) -> list[Row]:
    side = f"{result.side or '':<{_SIDE}}"
    value = result_amount(result)
    padding = " " * (layout.amount - cells(value))
    head = row(" " * _INDENT, side, padding, Span(value, "strong"), " " * _GAP)
    bar = _bar(group, result, layout)
    if bar:
        head = (*head, Span(bar), Span(" " * _GAP))
    ink: Ink = "second" if result.short else "plain"
    indent = None if bar else 2 * _INDENT
    return paragraph(_beside(result), layout.width, ink, first=head, indent=indent)


def _bar(group: _Group, result: Result, layout: _Layout) -> str:
    measure = measure_of(group.spec, result)
    if group.scale is None or measure is None or result.value is None:
        return ""
    limit = result.line.limit if result.line else None
    before, after = end_labels(group.scale)
    width = len(before) + layout.cells + len(after)
    bar = draw_bar(result.value, limit, result.near_within, measure.better, group.scale, width)
    padded = " " * (layout.before - len(before)) + bar + " " * (layout.after - len(after))
    return padded if bar else ""


def _beside(result: Result) -> str:
    """How a result stands, short enough to stand beside its bar."""
    if result.standing == "near the line":
        return f"near the line, {'short' if result.short else 'good'} side"
    return "not judged" if result.standing == "not judged" else words.standing_words(result)


def _details(protocol: Protocol, group: _Group) -> list[str]:
    """What the results of a group are held against; told once where it holds for both sides."""
    sides: dict[Fact, list[str]] = {}
    for result in group.results:
        for fact in _facts(group.spec, result):
            sides.setdefault(fact, []).append(result.side or "")
    return [
        _told(protocol, fact, "" if len(of) == len(group.results) else ", ".join(of))
        for fact, of in sides.items()
    ]


def _facts(spec: TestSpec | None, result: Result) -> list[Fact]:
    if result.value is None:
        return [Fact("Standing", words.standing_words(result))]
    scored = scored_fact(spec, result)
    # These go without saying, unless the number was calculated in a way to be cited.
    usual = scored.text in ("", FROM_ONE_TRIAL, FROM_SIGNS) and scored.source is None
    # How it stands is said beside the bar; here, why it is not judged or what counts as near.
    told_beside = result.standing in ("meets", "short of the line")
    return [
        *([] if usual else [scored]),
        *(
            fact
            for fact in compared_facts(spec, result)
            if fact.label != "Standing" or not told_beside
        ),
    ]


def _told(protocol: Protocol, fact: Fact, side: str) -> str:
    label = "" if fact.label == "Standing" else fact.label
    leads = [part for part in (side, label) if part]
    told = sourced(protocol, fact)
    return f"{', '.join(leads)}: {told}" if leads else told
