"""What is known when a trial begins: what its test came to so far, and what to mind in testing."""

from __future__ import annotations

from screen_tui.engine.conditions import Seen
from screen_tui.engine.observe import other
from screen_tui.engine.results import Result
from screen_tui.engine.safety import precautions_raised
from screen_tui.fields import Side
from screen_tui.report.plan import orders
from screen_tui.report.words import limit_words, number, result_amount

_AGAINST = {
    "meets": "meets the cut-off",
    "near the line": "near the cut-off",
    "short of the line": "worse than the cut-off",
}


def outcome(seen: Seen, test: str, side: Side | None) -> tuple[str, ...]:
    """Each number of a test so far, against its cut-off and the other leg, in one line each."""
    return tuple(
        _line(seen, result)
        for (of_test, of_side, _), result in seen.results.items()
        if (of_test, of_side) == (test, side) and (result.value is not None or result.in_words)
    )


def _line(seen: Seen, result: Result) -> str:
    parts = [f"{result.label} {result_amount(result)}"]
    if result.line is not None and result.standing in _AGAINST:
        limit = limit_words(result.line, result)
        parts.append(f"{_AGAINST[result.standing]}, {limit}")
    if result.value is None and result.why_not:
        parts.append(result.why_not)
    parts += [f"worse than the warning cut-off, {limit_words(one, result)}" for one in result.flags]
    there = seen.results.get((result.test, other(result.side), result.measure))
    if (
        result.side is not None
        and result.value is not None
        and there is not None
        and there.value is not None
    ):
        gap = number(abs(result.value - there.value), result.decimals)
        share = result.symmetry_percent
        worse = "" if share is None else f" ({number(100 - share, 0)} %)"
        parts.append(f"{there.side} {result_amount(there)}, difference {gap}{worse}")
    return "; ".join(parts)


def cautions_in_testing(seen: Seen) -> tuple[str, ...]:
    """What of the person's limits and precautions matters to testing, in one short line each."""
    ordered = orders(seen.session.intake)
    raised = {one.id for one in precautions_raised(seen)}
    rules = (rule.in_testing for rule in seen.protocol.precautions if rule.id in raised)
    return (*(("; ".join(ordered),) if ordered else ()), *(line for line in rules if line))
