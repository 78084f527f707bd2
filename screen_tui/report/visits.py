"""Visits of a patient: over time, two beside each other, and what changed as the note has it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import datetime
from typing import NamedTuple

from screen_tui import __version__
from screen_tui.engine.assess import assess
from screen_tui.engine.change import Change, ChangeVerdict, ErrorUsed, Reading, compare
from screen_tui.engine.conditions import CriterionSeen
from screen_tui.engine.grade import NEEDS_BODY_SIZE
from screen_tui.engine.observe import observe, was_watched
from screen_tui.engine.visits import (
    DataPoint,
    History,
    MeasureSeries,
    Progress,
    Visit,
    can_be_compared,
    history_of,
    progress_of,
    what_moved,
)
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.report.answer import VERDICTS, driver_standing
from screen_tui.report.cite import Numbered
from screen_tui.report.document import Bar, Bars, Document, Line, Part, Role, Section, Table
from screen_tui.report.facts import Place, names_on
from screen_tui.report.layout import PAPER, Layout, write_text
from screen_tui.session.model import Session

NOTHING_TO_COMPARE = "One visit: nothing to compare yet."
ONE_COUNTS = "One visit alone has a trial that counts: nothing to compare yet."

WHAT_IS_A_CHANGE = (
    "A change is one when it is at least the published minimal detectable change at 95 % "
    "(MDC95 = 2.77 x SEM). Beyond error does not mean that it matters to the person, and within "
    "error does not mean that nothing changed."
)
A_PART_ONLY = (
    "The tests tell a part of each criterion; the rest is for the clinician to ask and see."
)
MOST_MOVED = 8
"""So many findings are written; what is left moved the answer less."""

NOTHING_MOVED = "no finding came or went"
NOT_WEIGHED = "a safety question was answered yes at one of the two, so nothing was ranked there"


class _Worded(NamedTuple):
    """A verdict on a change: as a sentence, as a heading with its mark, in short, beside a bar."""

    sentence: str
    heading: str
    mark: str
    brief: str
    beside: str


_BEYOND, _WITHIN = "beyond measurement error", "Within measurement error"
_NO_ERROR = "No published error for this age"
_CHANGES: dict[ChangeVerdict, _Worded] = {
    "better": _Worded("better beyond error", f"Better, {_BEYOND}", "+", "Better", "better"),
    "worse": _Worded("worse beyond error", f"Worse, {_BEYOND}", "-", "Worse", "worse"),
    "within error": _Worded("within measurement error", _WITHIN, "=", _WITHIN, "within error"),
    "not comparable": _Worded(
        "not comparable", "Not comparable", "?", "Not comparable", "not comparable"
    ),
    "no published error": _Worded(
        "not judged: no published error for this age", _NO_ERROR, "?", _NO_ERROR, ""
    ),
}
_STEPS = {
    "up": "up, if the rest of the words above holds as well",
    "stay": "stay with it",
    "down": "down",
    "ask": "ask and watch",
}
_HOW = {
    ("new", True): "New",
    ("new", False): "New, and not looked for then",
    ("gone", True): "Gone",
    ("gone", False): "Not looked for now",
}


def write_visits(
    protocol: ScreenProtocol, history: History, written: datetime, *, ascii_only: bool = True
) -> str:
    """The report of a patient's visits, in lines ended by line feeds, without trailing blanks.

    It is ``written`` at a time with its offset from UTC. The same arguments give the same text.
    """
    latest = history.visits[-1].session
    head = [
        *([Line(words.INVENTED)] if latest.synthetic else []),
        Line(latest.client.label.strip(), "Patient code"),
        Line(words.moment(written), "Report written"),
        Line(f"screen-tui {__version__}, test set {protocol.battery.id}", "Program"),
    ]
    sections = (Section(tuple(head)), *visits_document(protocol, history).sections)
    numbered = Numbered(protocol)
    layout = Layout(PAPER, cite=numbered, ascii_only=ascii_only)
    text = write_text(Document(sections, "Knee tests over time"), layout)
    sources = numbered.section()
    return f"{text}\n{write_text(Document((sources,)), layout)}" if sources.parts else text


def visits_document(protocol: ScreenProtocol, history: History) -> Document:
    """All that the visits of a patient show; what changed comes first."""
    last = Section((Line(words.NOT_A_DIAGNOSIS, role="quiet"),))
    return Document((*_visits_sections(protocol, history), last))


def _visits_sections(protocol: ScreenProtocol, history: History) -> tuple[Section, ...]:
    over_time = [series for series in history.series if len(series.measured) > 1]
    count = history.left_out
    left_out = f"{count} visit{'' if count == 1 else 's'} after the first not shown"
    remarks = [*([left_out] if count else []), *history.remarks]
    return (
        *_changed(protocol, history, over_time),
        Section((_at_a_glance(history),), "Visits"),
        *_answers(protocol, history),
        *_progress(protocol, history),
        *(_series(protocol, history, one) for one in over_time),
        Section(tuple(_measured_once(protocol, history)), "No trend, for want of a second number"),
        Section(tuple(Line(one, mark="-") for one in remarks), "Remarks"),
    )


# ------------------------------------------------------------------ what changed


def _changed(
    protocol: ScreenProtocol, history: History, over_time: Sequence[MeasureSeries]
) -> Iterator[Section]:
    if len(history.compared) < 2:
        text = NOTHING_TO_COMPARE if len(history.visits) < 2 else ONE_COUNTS
        yield Section((Line(text, role="strong"),))
        return
    first, last = history.compared[0], history.compared[-1]
    changes = [
        (series, change)
        for series in over_time
        if (change := series.points[series.measured[-1]].since_first) is not None
    ]
    both = [history.visits[at].session for at in (first, last)]
    signs, pain = _signs_and_pain(protocol, *both)
    for verdict, worded in _CHANGES.items():
        if verdict == "within error":
            # Signs and pain say more than what is within error.
            yield Section((*signs, *pain), "Signs and pain, first and last visit")
        role: Role = "strong" if verdict in ("better", "worse") else "plain"
        lines = []
        for series, change in changes:
            if change.verdict == verdict:
                # What it amounts to is in the heading; the reason it cannot be said is not.
                why = f": {verdict_words(change)}" if verdict == "not comparable" else ""
                text = f"{_difference(change)}{why}"
                lines.append(Line(text, _series_name(protocol, series), None, role, worded.mark))
        yield Section(tuple(lines), worded.heading)
    left = [
        Line(one.points[last].reading.missing, _series_name(protocol, one), mark="-")
        for one in history.series
        if one.measured and one.points[last].reading.value is None
    ]
    yield Section(tuple(left), "Measured before and not at the last visit")
    if not changes:
        yield Section((Line("No measure has two numbers yet.", role="strong"),))
    yield Section((Line(WHAT_IS_A_CHANGE, role="quiet"),))


def verdict_words(change: Change) -> str:
    """Whether it is a change, or why that cannot be said."""
    why = f": {change.why_not}" if change.verdict == "not comparable" else ""
    return f"{_CHANGES[change.verdict].sentence}{why}"


def change_fact(change: Change, *, said: Collection[ErrorUsed | None] = ()) -> Line:
    """Both numbers, the difference and what it amounts to; the source is that of the error.

    Of an error that is among those ``said`` only the source is named.
    """
    text, error = f"{_difference(change)}: {verdict_words(change)}", change.error
    if error is None:
        return Line(text, change.label)
    held_against = "" if error in said else f" ({_error_words(error, change)})"
    return Line(f"{text}{held_against}", change.label, error.source)


def _difference(change: Change) -> str:
    """``6.2 to 9.8 s (+3.6 s)``."""
    then, now = (value_words(one, change.decimals) for one in (change.then, change.now))
    text = f"{then} to {now} {change.unit}"
    if change.difference is None:
        return text
    # Of the numbers as shown, so that a reader can take one from the other.
    before, after = (
        float(words.number(one.value or 0.0, change.decimals)) for one in (change.then, change.now)
    )
    shown = words.number(after - before, change.decimals)
    sign = "+" if float(shown) > 0 else ""
    at_least = "at least " if change.at_least else ""
    return f"{text} ({at_least}{sign}{shown} {change.unit})"


def further_facts(change: Change) -> list[Line]:
    """What must stand beside a change: an error that says otherwise, and how it was measured."""
    facts = []
    if change.disagrees is not None:
        by_it = "within" if change.verdict in ("better", "worse") else "beyond"
        error = _error_words(change.disagrees, change)
        text = f"by it the change is {by_it} error ({error})"
        facts.append(Line(text, "Another published error", change.disagrees.source))
    return facts + [Line(remark, "Remark") for remark in change.remarks]


def value_words(reading: Reading, decimals: int) -> str:
    """The number of a visit; a full hold is at least that long."""
    if reading.value is None:
        return "-"
    return (">= " if reading.full else "") + words.number(reading.value, decimals)


def _error_words(error: ErrorUsed, change: Change) -> str:
    text = f"MDC95 {words.quantity(error.mdc95, max(change.decimals, 1), change.unit)}"
    if error.kind != "MDC95":
        text += f", from {error.kind} {error.published:g}"
    return f"{text}; {error.population}"


def _signs_and_pain(
    protocol: ScreenProtocol, then: Session, now: Session
) -> tuple[list[Line], list[Line]]:
    before, after = observe(protocol, then), observe(protocol, now)
    gone: list[str] = []
    unmarked: list[str] = []
    new: list[str] = []
    for place in before:
        if place in after:
            was, now_seen = before[place].signs, after[place].signs
            name = words.short_on(protocol, *place)
            watched = was_watched(after[place].spec, after[place].plain)
            (gone if watched else unmarked).extend(_named(protocol, name, was - now_seen))
            new += _named(protocol, name, now_seen - was)
    found = {"Signs gone": gone, "Not marked now": unmarked, "Signs new": new}
    signs = [Line(words.joined(texts), label) for label, texts in found.items() if texts]
    pains = [
        max((p for one in seen.values() if (p := one.worst_pain) is not None), default=None)
        for seen in (before, after)
    ]
    text = f"{pains[0]} then, {pains[1]} now, of 10"
    return signs, [] if None in pains else [Line(text, "Worst pain in testing")]


def _named(protocol: ScreenProtocol, name: str, signs: frozenset[str]) -> list[str]:
    text = ", ".join(words.sign_words(protocol, sign) for sign in sorted(signs))
    return [f"{name}: {text}"] if text else []


# ------------------------------------------------------------------ the answers


def _at_a_glance(history: History) -> Table:
    rows = []
    for visit in history.visits:
        session, found = visit.session, visit.assessment
        names = dict.fromkeys(words.spaced(one.driver) for one in found.leading)
        answer = ": ".join(part for part in (VERDICTS[found.outcome], ", ".join(names)) if part)
        falls = ", ".join(words.spaced(one) for one in session.intake.history.get("falls", ()))
        pain = "" if session.intake.pain_worst is None else str(session.intake.pain_worst)
        day, marks = session.started.date().isoformat(), words.joined(visit.marks)
        rows.append((str(visit.number), day, answer, pain, falls, marks))
    titles = ("Visit", "Date", "Answer", "Pain", "Falls", "Remark")
    used = [at for at, title in enumerate(titles) if at < 3 or any(row[at] for row in rows)]
    cut = [tuple(row[at] for at in used) for row in (titles, *rows)]
    return Table(cut[0], tuple(cut[1:]))


def _answers(protocol: ScreenProtocol, history: History) -> Iterator[Section]:
    """What moved the answer since the first visit, and since the one before where it is another."""
    *before, now = (history.visits[at] for at in history.compared)
    for then in dict.fromkeys((0, len(before) - 1)) if before else ():
        lines = _driver_facts(protocol, before[then], now) + _moved(protocol, before[then], now)
        title = f"What moved it, visit {before[then].number} to {now.number}"
        yield Section(tuple(lines), title)


def _driver_facts(protocol: ScreenProtocol, then: Visit, now: Visit) -> list[Line]:
    leading = (*then.assessment.leading, *now.assessment.leading)
    before, after = (
        {(one.driver, one.side): driver_standing(one) for one in visit.assessment.drivers}
        for visit in (then, now)
    )
    none = "not ranked"
    return [
        Line(
            f"{before.get(place, none)} then; {after.get(place, none)} now",
            words.driver_on(protocol, *place),
        )
        for place in dict.fromkeys((one.driver, one.side) for one in leading)
    ]


def _moved(protocol: ScreenProtocol, then: Visit, now: Visit) -> list[Line]:
    if "refer-first" in (then.assessment.outcome, now.assessment.outcome):
        return [Line(NOT_WEIGHED)]
    moved = what_moved(then, now)
    lines = []
    for one in moved[:MOST_MOVED]:
        finding = one.finding
        tested = one.tested_then if one.how == "new" else one.tested_now
        driver = words.driver_on(protocol, one.driver, one.side)
        place = words.test_on(protocol, finding.test, finding.side)
        text = f"{finding.words} ({place}; for {driver}, {words.strength_words(finding)})"
        lines.append(Line(text, _HOW[one.how, tested], finding.source))
    if len(moved) > MOST_MOVED:
        lines.append(Line(f"and {len(moved) - MOST_MOVED} more that moved the answer less"))
    return lines or [Line(NOTHING_MOVED)]


# ------------------------------------------------------------------ the last plan


def plan_to_follow(history: History) -> Visit | None:
    """The latest visit before the last compared at which something was started, or None.

    A plan for a driver goes before what is started for everybody.
    """
    before = [
        visit for visit in history.visits[: history.compared[-1]] if visit.assessment.plan.start
    ]
    of_drivers = [
        visit for visit in before if any(start.driver for start in visit.assessment.plan.start)
    ]
    return next(reversed(of_drivers or before), None)


def _progress(protocol: ScreenProtocol, history: History) -> Iterator[Section]:
    then, now = plan_to_follow(history), history.visits[history.compared[-1]]
    if then is None:
        return
    lines = [Line(A_PART_ONLY, role="quiet")]
    for progress in progress_of(protocol, then.session, then.assessment, now.session):
        start = progress.start
        name = f"{start.name} ({words.start_for(protocol, start)})"
        lines += [Line(name, role="strong"), *progress_facts(protocol, progress)]
    yield Section(tuple(lines), f"Started at visit {then.number}, seen at visit {now.number}")


def progress_facts(protocol: ScreenProtocol, progress: Progress) -> list[Line]:
    """One exercise: its criterion in words, what the tests tell of it, and the next step."""
    start = progress.start
    facts = [Line(start.progress_when, "Progress when", start.source)]
    facts += [Line(_criterion_words(protocol, one), "Tests") for one in progress.criteria]
    step = f"{_STEPS[progress.step]} ({progress.why})"
    if progress.step == "up":
        step += f": {start.progress_to}"
    elif progress.step == "down":
        easier = progress.easier
        none = "no easier one fits; less load, or leave it out for now"
        step += f": {easier.name if easier else none}"
    return [*facts, Line(step, "Next step")]


def _criterion_words(protocol: ScreenProtocol, seen: CriterionSeen) -> str:
    criterion = seen.criterion
    spec = protocol.known_test(criterion.test)
    measure = next((m for m in spec.measures if m.id == criterion.measure), None) if spec else None
    unit = measure.unit if measure else ""
    asked = [
        "meets its cut-off" if criterion.standing else "",
        f"at least {criterion.at_least:g} {unit}" if criterion.at_least is not None else "",
        f"at most {criterion.at_most:g} {unit}" if criterion.at_most is not None else "",
        f"pain at most {criterion.max_pain}" if criterion.max_pain is not None else "",
        *(f"no {words.sign_words(protocol, sign)}" for sign in criterion.signs_none),
    ]
    name = words.test_on(protocol, criterion.test, seen.side)
    label = measure.label.lower() if measure else criterion.measure
    text = f"{name}, {label} {', '.join(filter(None, asked))}: {seen.status}"
    value = ""
    if seen.value is not None and measure is not None:
        value = words.quantity(seen.value, measure.decimals, unit)
    because = words.joined([value, seen.why if seen.why != seen.status else ""])
    return f"{text} ({because})" if because else text


# ------------------------------------------------------------------ each number over time


def _series_name(protocol: ScreenProtocol, series: MeasureSeries) -> str:
    return f"{words.short_on(protocol, series.test, series.side)}: {series.label}"


def _series(protocol: ScreenProtocol, history: History, series: MeasureSeries) -> Section:
    parts: list[Part] = [series_bars(history, series)]
    first, before, last = series.measured[0], series.measured[-2], series.measured[-1]
    point = series.points[last]
    against = {first: point.since_first, before: point.since_previous}
    if before == first:
        against = {first: point.since_first}
    errors: list[ErrorUsed | None] = []
    for place, change in against.items():
        if change is None:
            continue
        fact = change_fact(change, said=errors)
        source = None if change.error in errors else fact.source
        errors.append(change.error)
        numbers = [history.visits[at].number for at in (place, last)]
        span = f"Visit {numbers[0]} to {numbers[1]}"
        parts += [Line(fact.text, span, source), *further_facts(change)]
    better = f" ({series.better_when} is better)"
    return Section(tuple(parts), _series_name(protocol, series) + better)


def series_bars(history: History, series: MeasureSeries) -> Bars:
    """The number of each visit as a bar from nought, and the cut-off as the last of them."""
    numbers = [point.reading.value for point in series.points]
    limits = [series.line.limit] if series.line else []
    top = max([one for one in (*numbers, *limits) if one is not None], default=0.0)

    def share(value: float | None) -> float | None:
        return None if value is None else max(value, 0.0) / top if top > 0 else 0.0

    bars = [
        Bar(
            f"{visit.number:>2}  {visit.session.started.date().isoformat()}",
            share(point.reading.value),
            _visit_words(series, point),
        )
        for visit, point in zip(history.visits, series.points, strict=True)
    ]
    if series.line is not None:
        limit = words.quantity(series.line.limit, series.decimals, series.unit)
        bars.append(Bar("cut-off", share(series.line.limit), f"{series.line.meets} {limit}"))
    return Bars(tuple(bars))


def _visit_words(series: MeasureSeries, point: DataPoint) -> str:
    reading, change = point.reading, point.since_first
    if reading.value is None:
        return reading.missing
    text = f"{value_words(reading, series.decimals)} {series.unit}"
    corrected = "corrected by hand" if reading.corrected else ""
    verdict = "" if change is None else _CHANGES[change.verdict].beside
    return ", ".join(part for part in (text, corrected, verdict) if part)


def _measured_once(protocol: ScreenProtocol, history: History) -> Iterator[Line]:
    for series in history.series:
        if len(series.measured) > 1:
            continue
        text = words.joined(dict.fromkeys(point.reading.missing for point in series.points))
        for at in series.measured:
            value = value_words(series.points[at].reading, series.decimals)
            text = f"{value} {series.unit} at visit {history.visits[at].number}"
        yield Line(text, _series_name(protocol, series))


# ------------------------------------------------------------------ for the note


def changes_in_short(
    protocol: ScreenProtocol, before: Sequence[Session], session: Session, *, beyond: bool = False
) -> list[Line]:
    """What changed since the first visit, on a few lines; nothing where there was none.

    Power follows from the time and the body, so it is in the full note alone. ``beyond``: of the
    numbers only those better or worse beyond error.
    """
    able = [one for one in before if can_be_compared(one)]
    if not able or not can_be_compared(session):
        return []
    first = min(able, key=lambda one: (one.started, one.id))
    since = f"Change since {first.started.date().isoformat()}"
    changes = [
        one
        for one in compare(protocol, first, session)
        if None not in (one.then.value, one.now.value) and not _of_power(protocol, one)
    ]
    clear, unclear = list[Line](), list[Line]()
    for verdict, worded in _CHANGES.items():
        mine = [one for one in changes if one.verdict == verdict]
        text = _in_short(protocol, verdict, mine)
        if text:
            beyond_error = verdict in ("better", "worse")
            (clear if beyond_error else unclear).append(Line(words.joined(text), worded.brief))
    # Signs and pain say more than what is within error.
    signs, pain = _signs_and_pain(protocol, first, session)
    clear += signs
    if beyond:
        return [*(clear or [Line(f"{since}: nothing beyond error")]), *pain]
    then = Line(assess(protocol, first).headline, "Answer then")
    return [Line(since, role="strong"), then, *clear, *pain, *unclear]


def _of_power(protocol: ScreenProtocol, change: Change) -> bool:
    """Whether it is calculated from another number that is there too."""
    spec = protocol.known_test(change.test)
    return spec is not None and spec.measure(change.measure).taken_from in NEEDS_BODY_SIZE


def _in_short(protocol: ScreenProtocol, verdict: str, changes: Iterable[Change]) -> list[str]:
    if verdict == "within error":
        return names_on(protocol, dict.fromkeys((one.test, one.side) for one in changes))
    if verdict == "not comparable":
        why: dict[str, dict[Place, None]] = {}
        for one in changes:
            why.setdefault(one.why_not, {})[one.test, one.side] = None
        return [
            f"{', '.join(names_on(protocol, places))} ({reason})" for reason, places in why.items()
        ]
    return [_then_and_now(protocol, one) for one in changes]


def _then_and_now(protocol: ScreenProtocol, change: Change) -> str:
    spec = protocol.known_test(change.test)
    name = words.short_on(protocol, change.test, change.side)
    several = spec is not None and len(spec.measures) > 1
    name = f"{name}, {change.label.lower()}" if several else name
    then, now = (value_words(one, change.decimals) for one in (change.then, change.now))
    return f"{name} {then} to {now} {change.unit}"


def change_sections(
    protocol: ScreenProtocol, before: Sequence[Session], session: Session
) -> tuple[Section, ...]:
    """All that this visit and those before it show; nothing where there was none."""
    if not before:
        return ()
    in_order = sorted((*before, session), key=lambda one: (one.started, one.id))
    return _visits_sections(protocol, history_of(protocol, in_order))
