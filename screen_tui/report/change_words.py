"""What became of a result between two visits, in the words of the note and of the screen."""

from __future__ import annotations

from screen_tui.engine.change import Change, ErrorUsed, Reading
from screen_tui.report.facts import Fact
from screen_tui.report.words import number, quantity

VERDICTS = {
    "better": "better beyond error",
    "worse": "worse beyond error",
    "within error": "within measurement error",
    "no published error": "not judged: no published error",
}

WHAT_IS_A_CHANGE = (
    "A change is one when it is at least the published minimal detectable change at 95 % "
    "(MDC95 = 2.77 x SEM). Beyond error does not mean that it matters to the person, and within "
    "error does not mean that nothing changed."
)


def verdict_words(change: Change) -> str:
    """Whether it is a change, or why that cannot be said."""
    if change.verdict == "not comparable":
        return f"not comparable: {change.why_not}"
    return VERDICTS[change.verdict]


def value_words(reading: Reading, decimals: int) -> str:
    """The number of a visit; a full hold is at least that long."""
    if reading.value is None:
        return "-"
    return (">= " if reading.full else "") + number(reading.value, decimals)


def difference_words(change: Change) -> str:
    """``+5.8 s``, or ``at least +5.8 s``; empty where the two cannot be compared."""
    if change.difference is None:
        return ""
    shown = number(change.difference, change.decimals)
    signed = shown if change.difference < 0 or float(shown) == 0 else f"+{shown}"
    told = f"{signed} {change.unit}"
    return f"at least {told}" if change.at_least else told


def change_fact(change: Change) -> Fact:
    """Both numbers, the difference and what it amounts to; the source is that of the error."""
    then, now = (value_words(one, change.decimals) for one in (change.then, change.now))
    told = f"{then} to {now} {change.unit}"
    difference = difference_words(change)
    if difference:
        told += f" ({difference})"
    told += f": {verdict_words(change)}"
    if change.error is None:
        return Fact(change.label, told)
    return Fact(change.label, f"{told} ({error_words(change.error, change)})", change.error.source)


def further_facts(change: Change) -> list[Fact]:
    """What must stand beside a change: an error that says otherwise, and how it was measured."""
    facts = []
    if change.disagrees is not None:
        by_it = "within" if change.verdict in ("better", "worse") else "beyond"
        error = error_words(change.disagrees, change)
        told = f"by it the change is {by_it} error ({error})"
        facts.append(Fact("Another published error", told, change.disagrees.source))
    return facts + [Fact("Remark", remark) for remark in change.remarks]


def error_words(error: ErrorUsed, change: Change) -> str:
    """How large an error is, how that was published, and in whom it was measured."""
    decimals = max(change.decimals, 1)
    told = f"MDC95 {quantity(error.mdc95, decimals, change.unit)}"
    if error.kind != "MDC95":
        told += f", from {error.kind} {error.published:g}"
    return f"{told}; {error.population}"
