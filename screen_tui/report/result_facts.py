"""What there is to say about one result: how it was scored and what it is held against."""

from __future__ import annotations

from screen_tui.engine.results import LineUsed, ReferenceUsed, Result
from screen_tui.protocol.tests import ResultMeasure, TestSpec
from screen_tui.report.facts import Fact
from screen_tui.report.words import limit_words, number, quantity, standing_words

FROM_ONE_TRIAL = "from one trial"
FROM_SIGNS = "from the signs of all trials"


def measure_of(spec: TestSpec | None, result: Result) -> ResultMeasure | None:
    """The measure of a result, or None where the protocol no longer has it."""
    return next((m for m in spec.measures if m.id == result.measure), None) if spec else None


def scored_fact(spec: TestSpec | None, result: Result) -> Fact:
    """Which trials the value is from; the source is that of the calculation, where it has one."""
    measure = measure_of(spec, result)
    source = measure.source if measure is not None and result.value is not None else None
    return Fact("Value", _scored(measure, len(result.trials)), source)


def _scored(measure: ResultMeasure | None, trials: int) -> str:
    if measure is None or not trials:
        return ""
    if measure.taken_from == "points":
        return FROM_SIGNS
    if trials == 1:
        return FROM_ONE_TRIAL
    counted = {"best": "best of", "mean": "mean of", "first": "first of", "last": "last of"}
    return f"{counted[measure.over_trials]} {trials} trials"


def value_fact(spec: TestSpec | None, result: Result) -> Fact:
    """The value with its unit and how it was scored, or that there is none and why."""
    if result.value is None:
        why = result.why_not or "nothing was measured"
        return Fact(result.label, f"no value; not judged: {why}")
    scored = scored_fact(spec, result)
    value = quantity(result.value, result.decimals, result.unit)
    told = f"{value} ({scored.text})" if scored.text else value
    return Fact(result.label, told, scored.source)


def standing_fact(spec: TestSpec | None, result: Result) -> Fact:
    """How it stands; where it is near its line, within which error, and where that comes from."""
    words = standing_words(result)
    if result.standing != "near the line" or result.near_within is None:
        return Fact("Standing", words)
    at_lines = [error for error in spec.errors if error.use != "change"] if spec else []
    source = next((error.source for error in at_lines if error.measure == result.measure), None)
    within = f"within {result.near_within:.2g} {result.unit}, the measurement error"
    return Fact("Standing", f"{words} ({within})", source)


def compared_facts(spec: TestSpec | None, result: Result) -> list[Fact]:
    """What a value is held against, in the order to read it; empty when there is no value."""
    if result.value is None:
        return []
    facts = [] if result.line is None else [Fact("Line", *_line(result, result.line))]
    facts.append(standing_fact(spec, result))
    facts += [
        Fact("On the bad side of a further line", *_line(result, flag)) for flag in result.flags
    ]
    if result.reference is not None:
        provisional = ", provisional" if result.reference.provisional else ""
        told = _reference_words(result, result.reference)
        facts.append(Fact(f"Reference value{provisional}", told, result.reference.source))
    if result.symmetry_percent is not None:
        share = f"{number(result.symmetry_percent, 0)} % (worse side as a share of the better)"
        facts.append(Fact("Between sides", share))
    if result.slowing_percent is not None:
        facts.append(Fact("Slowing", _slowing(result.slowing_percent)))
    return facts


def _line(result: Result, line: LineUsed) -> tuple[str, str]:
    limit = limit_words(line, result.decimals, result.unit)
    return f"{limit} - {line.meaning}; {line.population}", line.source


def _reference_words(result: Result, reference: ReferenceUsed) -> str:
    spread = f", SD {reference.sd:g}" if reference.sd is not None else ""
    percentile = ""
    if reference.percentile is not None:
        percentile = f", this value at percentile {_percentile(reference.percentile)}"
    mean = f"mean {reference.mean:g} {result.unit}".rstrip()
    return f"{mean}{spread}{percentile}; {reference.population}"


def _percentile(percentile: float) -> str:
    if percentile < 1:
        return "below 1"
    if percentile > 99:
        return "above 99"
    return number(percentile, 0)


def _slowing(percent: float) -> str:
    shown = number(abs(percent), 0)
    if shown == "0":
        return "the last third of the repetitions was as quick as the first"
    how = "slower" if percent > 0 else "quicker"
    return f"the last third of the repetitions was {shown} % {how} than the first"
