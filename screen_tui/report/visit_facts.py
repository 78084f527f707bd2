"""What changed between the visits of a patient, each fact laid out once."""

from __future__ import annotations

from screen_tui.engine.change import Change, ErrorUsed, Reading
from screen_tui.engine.visits import (
    CriterionSeen,
    DataPoint,
    FindingChange,
    History,
    MeasureSeries,
    Progress,
    Visit,
    progress_of,
    what_moved,
)
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.answer import driver_standing
from screen_tui.report.document import Bar, Bars, Line
from screen_tui.report.facts import measure_of
from screen_tui.report.words import (
    driver_on,
    joined,
    number,
    quantity,
    short_on,
    sign_words,
    start_for,
    strength_words,
    test_on,
)

VERDICTS = {
    "better": "better beyond error",
    "worse": "worse beyond error",
    "within error": "within measurement error",
    "no published error": "not judged: no published error for this age",
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


def change_fact(change: Change) -> Line:
    """Both numbers, the difference and what it amounts to; the source is that of the error."""
    then, now = (value_words(one, change.decimals) for one in (change.then, change.now))
    told = f"{then} to {now} {change.unit}"
    difference = difference_words(change)
    if difference:
        told += f" ({difference})"
    told += f": {verdict_words(change)}"
    if change.error is None:
        return Line(told, change.label)
    return Line(f"{told} ({_error_words(change.error, change)})", change.label, change.error.source)


def further_facts(change: Change) -> list[Line]:
    """What must stand beside a change: an error that says otherwise, and how it was measured."""
    facts = []
    if change.disagrees is not None:
        by_it = "within" if change.verdict in ("better", "worse") else "beyond"
        error = _error_words(change.disagrees, change)
        told = f"by it the change is {by_it} error ({error})"
        facts.append(Line(told, "Another published error", change.disagrees.source))
    return facts + [Line(remark, "Remark") for remark in change.remarks]


def _error_words(error: ErrorUsed, change: Change) -> str:
    decimals = max(change.decimals, 1)
    told = f"MDC95 {quantity(error.mdc95, decimals, change.unit)}"
    if error.kind != "MDC95":
        told += f", from {error.kind} {error.published:g}"
    return f"{told}; {error.population}"


A_PART_ONLY = (
    "The tests tell a part of each criterion; the rest is for the clinician to ask and see."
)

_STEPS = {
    "up": "up, if the rest of the words above holds as well",
    "stay": "stay with it",
    "down": "down",
    "ask": "ask and watch",
}


def plan_to_follow(history: History) -> Visit | None:
    """The latest visit before the last at which something was started; None where none was.

    A plan for a driver goes before what is started for everybody.
    """
    before = [visit for visit in history.visits[:-1] if visit.assessment.plan.start]
    of_drivers = [
        visit for visit in before if any(start.driver for start in visit.assessment.plan.start)
    ]
    return next(reversed(of_drivers or before), None)


def plan_followed(protocol: ScreenProtocol, then: Visit, now: Visit) -> tuple[Progress, ...]:
    """What the later visit tells about each exercise of the earlier plan."""
    found = progress_of(protocol, then.session, then.assessment, now.session)
    return tuple(one for one in found if one.start.exercise)


def progress_facts(protocol: ScreenProtocol, progress: Progress) -> list[Line]:
    """One exercise: its criterion in words, what the tests tell of it, and the next step."""
    start = progress.start
    facts = [Line(start.progress_when, "Progress when", start.source)]
    facts += [Line(_criterion_words(protocol, one), "Tests") for one in progress.criteria]
    step = f"{_STEPS[progress.step]} ({progress.why})"
    if progress.step == "up":
        step += f": {start.progress_to}"
    elif progress.step == "down" and progress.easier is not None:
        step += f": {progress.easier.name}"
    elif progress.step == "down":
        step += ": no easier one fits; less load, or leave it out for now"
    return [*facts, Line(step, "Next step")]


def progress_name(protocol: ScreenProtocol, progress: Progress) -> str:
    """The exercise and what it is for."""
    start = progress.start
    return f"{start.name} ({start_for(protocol, start)})"


def _criterion_words(protocol: ScreenProtocol, seen: CriterionSeen) -> str:
    criterion = seen.criterion
    spec = protocol.known_test(criterion.test)
    measure = measure_of(spec, criterion.measure)
    unit = measure.unit if measure else ""
    asked = [
        "meets its cut-off" if criterion.standing else "",
        f"at least {criterion.at_least:g} {unit}" if criterion.at_least is not None else "",
        f"at most {criterion.at_most:g} {unit}" if criterion.at_most is not None else "",
        f"pain at most {criterion.max_pain}" if criterion.max_pain is not None else "",
        *(f"no {sign_words(protocol, sign)}" for sign in criterion.signs_none),
    ]
    name = test_on(protocol, criterion.test, seen.side)
    label = measure.label.lower() if measure else criterion.measure
    told = f"{name}, {label} {', '.join(one for one in asked if one)}: {seen.status}"
    value = ""
    if seen.value is not None and measure is not None:
        value = quantity(seen.value, measure.decimals, unit)
    why = seen.why if seen.why != seen.status else ""
    return f"{told} ({joined([value, why])})" if value or why else told


MOST_MOVED = 8
"""So many findings are told in full; what is left moved the answer less."""

NOTHING_MOVED = "no finding came or went"
NOT_WEIGHED = "a safety question was answered yes at one of the two, so nothing was ranked there"

_SHORT = {
    "better": "better",
    "worse": "worse",
    "within error": "within error",
    "not comparable": "not comparable",
    "no published error": "",
}
"""What a number is against the first, beside its bar."""
_HOW = {
    ("new", True): "New",
    ("new", False): "New, and not looked for then",
    ("gone", True): "Gone",
    ("gone", False): "Not looked for now",
}


def left_out_words(history: History) -> str:
    """How many visits are not shown; empty where all are."""
    count = history.left_out
    return f"{count} visit{'' if count == 1 else 's'} after the first not shown" if count else ""


def series_name(protocol: ScreenProtocol, series: MeasureSeries) -> str:
    """``Single-leg stance, left: Hold, best``."""
    return f"{short_on(protocol, series.test, series.side)}: {series.label}"


def series_bars(history: History, series: MeasureSeries) -> Bars:
    """The number of each visit as a bar from nought, and the cut-off as the last of them."""
    numbers = [point.reading.value for point in series.points]
    limits = [series.line.limit] if series.line else []
    top = max([one for one in (*numbers, *limits) if one is not None], default=0.0)
    bars = [
        Bar(
            f"{visit.number:>2}  {visit.session.started.date().isoformat()}",
            _share(point.reading.value, top),
            _visit_words(series, point),
        )
        for visit, point in zip(history.visits, series.points, strict=True)
    ]
    if series.line is not None:
        told = f"{series.line.meets} {number(series.line.limit, series.decimals)} {series.unit}"
        bars.append(Bar("cut-off", _share(series.line.limit, top), told))
    return Bars(tuple(bars))


def _share(value: float | None, top: float) -> float | None:
    return None if value is None else max(value, 0.0) / top if top > 0 else 0.0


def _visit_words(series: MeasureSeries, point: DataPoint) -> str:
    """The number and what it is against the first; or why there is none."""
    reading, change = point.reading, point.since_first
    if reading.value is None:
        return reading.missing
    verdict = "" if change is None else _SHORT[change.verdict]
    told = f"{value_words(reading, series.decimals)} {series.unit}"
    corrected = "corrected by hand" if reading.corrected else ""
    return ", ".join(part for part in (told, corrected, verdict) if part)


def latest_changes(history: History, series: MeasureSeries) -> list[tuple[str, Change]]:
    """The latest number against the first, and against the one before where that is another.

    Each with its visits in words, such as ``Visit 1 to 3``.

    Raises:
        IndexError: The series was measured at fewer than two visits.
    """
    first, before, last = series.measured[0], series.measured[-2], series.measured[-1]
    point = series.points[last]
    against = [(first, point.since_first)]
    if before != first:
        against.append((before, point.since_previous))
    numbers = [visit.number for visit in history.visits]
    return [
        (f"Visit {numbers[place]} to {numbers[last]}", change)
        for place, change in against
        if change is not None
    ]


def then_and_now(history: History) -> list[tuple[Visit, Visit]]:
    """The visits whose answers are compared: first and last, and the last two where others."""
    if len(history.visits) < 2:
        return []
    first, *between, last = history.visits
    return [(first, last), *((one, last) for one in between[-1:])]


def told_over_time(history: History) -> list[MeasureSeries]:
    """The measures with two numbers at least, so that there is something to compare."""
    return [series for series in history.series if len(series.measured) > 1]


def once_facts(protocol: ScreenProtocol, history: History) -> list[Line]:
    """Of every other measure its one number and the visit, or why there is none."""
    facts = []
    for series in history.series:
        if len(series.measured) > 1:
            continue
        if series.measured:
            (at,) = series.measured
            value = value_words(series.points[at].reading, series.decimals)
            told = f"{value} {series.unit} at visit {history.visits[at].number}"
        else:
            told = joined(dict.fromkeys(point.reading.missing for point in series.points))
        facts.append(Line(told, series_name(protocol, series)))
    return facts


def driver_facts(protocol: ScreenProtocol, then: Visit, now: Visit) -> list[Line]:
    """How each driver that led at either visit stood then and stands now."""
    leading = (*then.assessment.leading, *now.assessment.leading)
    stood, stands = (
        {(one.driver, one.side): driver_standing(one) for one in visit.assessment.drivers}
        for visit in (then, now)
    )
    none = "not ranked"
    return [
        Line(
            f"{stood.get(place, none)} then; {stands.get(place, none)} now",
            driver_on(protocol, *place),
        )
        for place in dict.fromkeys((one.driver, one.side) for one in leading)
    ]


def moved_between(then: Visit, now: Visit) -> tuple[FindingChange, ...]:
    """What moved the answer between two visits, strongest first."""
    return what_moved((then.session, then.assessment), (now.session, now.assessment))


def moved_facts(protocol: ScreenProtocol, then: Visit, now: Visit) -> list[Line]:
    """What moved the answer, strongest first; a sentence where nothing did."""
    if "refer-first" in (then.assessment.outcome, now.assessment.outcome):
        return [Line(NOT_WEIGHED)]
    moved = moved_between(then, now)
    facts = [_moved_fact(protocol, one) for one in moved[:MOST_MOVED]]
    left = len(moved) - len(facts)
    if left:
        facts.append(Line(f"and {left} more that moved the answer less"))
    return facts or [Line(NOTHING_MOVED)]


def _moved_fact(protocol: ScreenProtocol, moved: FindingChange) -> Line:
    finding = moved.finding
    tested = moved.tested_then if moved.how == "new" else moved.tested_now
    label = _HOW.get((moved.how, tested), moved.how.capitalize())
    driver = driver_on(protocol, moved.driver, moved.side)
    place = test_on(protocol, finding.test, finding.side)
    told = f"{finding.words} ({place}; for {driver}, {strength_words(finding)})"
    return Line(told, label, finding.source)
