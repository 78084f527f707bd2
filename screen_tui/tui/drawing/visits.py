"""The visits of a client: what truly changed first, then the answer, then each number over time."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.engine.change import Change
from screen_tui.engine.visits import History, MeasureSeries, Visit
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import visit_facts
from screen_tui.report.visit_facts import TableRow
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    labelled,
    paragraph,
    row,
    rule,
    section,
    stacked,
)
from screen_tui.tui.drawing.words import NOT_A_DIAGNOSIS, facts_rows, sourced

_BOTH_COLUMNS_FROM = 68
_CHART_MOST = 72

_HEADINGS = (
    ("better", "Better, beyond measurement error", "+"),
    ("worse", "Worse, beyond measurement error", "-"),
    ("within error", "Within measurement error", "="),
    ("not comparable", "Not comparable", "?"),
    ("no published error", "No published error for this age", "?"),
)


def draw_history(
    protocol: ScreenProtocol, history: History, width: int, *, ascii_only: bool = False
) -> list[Row]:
    """Draw all that the visits show; ``ascii_only`` is for the charts."""
    over_time = visit_facts.told_over_time(history)
    parts = [
        _changes(protocol, history, over_time, width),
        _answers(protocol, history, width),
        _plan(protocol, history, width),
        *(_series(protocol, history, one, width, ascii_only) for one in over_time),
        _once(protocol, history, width),
        _visits(protocol, history, width),
        paragraph(NOT_A_DIAGNOSIS, width, "quiet"),
    ]
    return stacked(parts)


def _changes(
    protocol: ScreenProtocol, history: History, over_time: Sequence[MeasureSeries], width: int
) -> list[Row]:
    """The latest number of each measure against the first, by what it amounts to."""
    if len(history.visits) < 2:
        return paragraph("One visit: nothing to compare yet.", width, "strong")
    changes = [
        (series, change)
        for series in over_time
        if (change := series.points[series.measured[-1]].since_first) is not None
    ]
    rows: list[Row] = []
    for verdict, heading, mark in _HEADINGS:
        mine = [(series, change) for series, change in changes if change.verdict == verdict]
        if mine:
            rows += [*([BLANK] if rows else []), rule(width, heading)]
            for series, change in mine:
                rows += _change(protocol, series, change, width, mark)
    if not rows:
        rows = paragraph("No measure has two numbers yet.", width, "strong")
    return [*rows, *paragraph(visit_facts.WHAT_IS_A_CHANGE, width, "quiet")]


def _change(
    protocol: ScreenProtocol, series: MeasureSeries, change: Change, width: int, mark: str
) -> list[Row]:
    name, fact = visit_facts.series_name(protocol, series), visit_facts.change_fact(change)
    # What it amounts to stands in the heading; the reason it cannot be said does not.
    told = fact.text if change.verdict == "not comparable" else fact.text.partition(": ")[0]
    strong = change.verdict in ("better", "worse")
    return paragraph(
        f"{name}: {told}", width, "strong" if strong else "plain", first=row(f"{mark} ")
    )


def _answers(protocol: ScreenProtocol, history: History, width: int) -> list[Row]:
    rows = [rule(width, "The answer then and now")]
    rows += facts_rows(protocol, visit_facts.answer_facts(history.visits), width)
    for then, now in visit_facts.then_and_now(history):
        rows += _moved(protocol, then, now, width)
    return rows


def _moved(protocol: ScreenProtocol, then: Visit, now: Visit, width: int) -> list[Row]:
    rows = [BLANK, row(Span(f"What moved it, visit {then.number} to {now.number}", "strong"))]
    facts = (
        *visit_facts.driver_facts(protocol, then, now),
        *visit_facts.moved_facts(protocol, then, now),
    )
    return [*rows, *facts_rows(protocol, facts, width)]


def _plan(protocol: ScreenProtocol, history: History, width: int) -> list[Row]:
    then = visit_facts.plan_to_follow(history)
    if then is None:
        return []
    now = history.visits[-1]
    rows = [rule(width, f"Started at visit {then.number}, seen at visit {now.number}")]
    rows += paragraph(visit_facts.A_PART_ONLY, width, "quiet")
    for progress in visit_facts.plan_followed(protocol, then, now):
        rows += paragraph(visit_facts.progress_name(protocol, progress), width, "strong")
        rows += facts_rows(protocol, visit_facts.progress_facts(protocol, progress), width)
    return rows


def _series(
    protocol: ScreenProtocol, history: History, series: MeasureSeries, width: int, ascii_only: bool
) -> list[Row]:
    table, notes = visit_facts.series_table(history, series)
    rows = [rule(width, visit_facts.series_name(protocol, series)), *_table(table, width)]
    for note in notes:
        rows += paragraph(note, width, "quiet", indent=4)
    for span, change in visit_facts.latest_changes(history, series):
        rows += labelled(span, sourced(protocol, visit_facts.change_fact(change)), width)
        rows += facts_rows(protocol, visit_facts.further_facts(change), width)
    drawn = visit_facts.series_chart(
        history, series, width=min(width, _CHART_MOST), ascii=ascii_only
    )
    return [*rows, BLANK, *(row(line) for line in drawn)]


def _table(table: Sequence[TableRow], width: int) -> list[Row]:
    both = width >= _BOTH_COLUMNS_FROM and len(table) > 2
    titles = TableRow("Visit", "Date", "Value", "since the first", "since the one before")
    rows: list[Row] = []
    for at, one in enumerate((titles, *table)):
        text = f"{one.visit:>5}  {one.on:<10}  {one.value:>8}  {one.since_first:<19}"
        if both:
            text += f"  {one.since_previous}"
        rows.append(row(Span(text.rstrip(), "plain" if at else "quiet")))
        if not both and at > 1 and len(table) > 2 and one.since_previous:
            before = f"{'':>27}  {one.since_previous} since the one before"
            rows.append(row(Span(before, "quiet")))
    return rows


def _once(protocol: ScreenProtocol, history: History, width: int) -> list[Row]:
    once = facts_rows(protocol, visit_facts.once_facts(protocol, history), width)
    return section("No trend, for want of a second number", once, width)


def _visits(protocol: ScreenProtocol, history: History, width: int) -> list[Row]:
    rows = [rule(width, "Visits")]
    rows += facts_rows(protocol, (visit_facts.visit_fact(visit) for visit in history.visits), width)
    for remark in (visit_facts.left_out_words(history), *history.remarks):
        rows += paragraph(remark, width) if remark else []
    return rows
