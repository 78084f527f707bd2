"""Visits of a patient: over time, two beside each other, and what changed as the note has it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from screen_tui import __version__
from screen_tui.engine.change import Change, compare
from screen_tui.engine.observe import observe
from screen_tui.engine.visits import History, MeasureSeries, Visits, history_of
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import visit_facts, words
from screen_tui.report.answer import VERDICTS
from screen_tui.report.cite import Numbered
from screen_tui.report.document import Document, Line, Part, Section, Table
from screen_tui.report.facts import Place, names_on
from screen_tui.report.layout import PAPER, Layout, write_text
from screen_tui.session.model import Session

WORST_PAIN = "Worst pain in testing"
NOTHING_TO_COMPARE = "One visit: nothing to compare yet."

_VERDICTS = (
    ("better", "Better, beyond measurement error", "+"),
    ("worse", "Worse, beyond measurement error", "-"),
    ("within error", "Within measurement error", "="),
    ("not comparable", "Not comparable", "?"),
    ("no published error", "No published error for this age", "?"),
)


def write_visits(
    protocol: ScreenProtocol, history: History, written: datetime, *, ascii_only: bool = True
) -> str:
    """Write the report of a patient's visits.

    Args:
        protocol: The protocol the visits are read by.
        history: What they show: ``history_of(protocol, visits)``.
        written: When the report is written, with its offset from UTC.
        ascii_only: Fold everything to printable ASCII; otherwise texts keep their characters.

    Returns:
        Lines ended by line feeds, without tabs or trailing blanks. The same arguments always give
        the same text.
    """
    head = [
        Line(history.label, "Patient code"),
        Line(words.moment(written), "Report written"),
        Line(f"screen-tui {__version__}, test set {protocol.battery.id}", "Program"),
    ]
    if history.synthetic:
        head.insert(0, Line(words.INVENTED))
    document = visits_document(protocol, history)
    sections = (Section(tuple(head)), *document.sections)
    return _with_sources(protocol, Document(sections, "Knee tests over time"), ascii_only)


def _with_sources(protocol: ScreenProtocol, document: Document, ascii_only: bool = True) -> str:
    numbered = Numbered(protocol)
    layout = Layout(PAPER, cite=numbered, ascii_only=ascii_only)
    text = write_text(document, layout)
    sources = numbered.section()
    return f"{text}\n{write_text(Document((sources,)), layout)}" if sources.parts else text


def visits_document(protocol: ScreenProtocol, history: History) -> Document:
    """All that the visits of a patient show; what changed comes first."""
    last = Section((Line(words.NOT_A_DIAGNOSIS, role="quiet"),))
    return Document((*_visits_sections(protocol, history), last))


def _visits_sections(protocol: ScreenProtocol, history: History) -> tuple[Section, ...]:
    over_time = visit_facts.told_over_time(history)
    return (
        *_changes(protocol, history, over_time),
        Section((_at_a_glance(history),), "Visits"),
        *_answers(protocol, history),
        *_progress(protocol, history),
        *(_series(protocol, history, one) for one in over_time),
        Section(
            tuple(visit_facts.once_facts(protocol, history)),
            "No trend, for want of a second number",
        ),
        Section(tuple(_remarks(history)), "Remarks"),
    )


def _changes(
    protocol: ScreenProtocol, history: History, over_time: Sequence[MeasureSeries]
) -> Iterator[Section]:
    """The latest number of each measure against the first, by what it amounts to."""
    if len(history.visits) < 2:
        yield Section((Line(NOTHING_TO_COMPARE, role="strong"),))
        return
    changes = [
        (series, change)
        for series in over_time
        if (change := series.points[series.measured[-1]].since_first) is not None
    ]
    for verdict, heading, mark in _VERDICTS:
        lines = [
            _change(visit_facts.series_name(protocol, series), change, mark)
            for series, change in changes
            if change.verdict == verdict
        ]
        yield Section(tuple(lines), heading)
    first, last = history.visits[0], history.visits[-1]
    seen = sign_changes(protocol, first.session, last.session)
    left = [
        Line(one.points[-1].reading.missing, visit_facts.series_name(protocol, one), mark="-")
        for one in history.series
        if one.measured and one.points[-1].reading.value is None
    ]
    yield Section(tuple(left), "Measured before and not at the last visit")
    yield Section(tuple(seen), "Signs and pain, first and last visit")
    if not changes:
        yield Section((Line("No measure has two numbers yet.", role="strong"),))
    yield Section((Line(visit_facts.WHAT_IS_A_CHANGE, role="quiet"),))


def _change(name: str, change: Change, mark: str) -> Line:
    text = visit_facts.change_fact(change).text
    # What it amounts to is in the heading; the reason it cannot be said is not.
    text = text if change.verdict == "not comparable" else text.partition(": ")[0]
    strong = change.verdict in ("better", "worse")
    return Line(text, name, role="strong" if strong else "plain", mark=mark)


def sign_changes(protocol: ScreenProtocol, then: Session, now: Session) -> list[Line]:
    """Signs gone and new in tests done at both visits, and the worst pain then and now."""
    before, after = observe(protocol, then), observe(protocol, now)
    gone: list[str] = []
    new: list[str] = []
    for place in before:
        if place in after:
            was, now_seen = before[place].signs, after[place].signs
            name = words.short_on(protocol, *place)
            gone += _named(protocol, name, was - now_seen)
            new += _named(protocol, name, now_seen - was)
    lines = [Line(words.joined(gone), "Signs gone")] if gone else []
    lines += [Line(words.joined(new), "Signs new")] if new else []
    pains = [
        max((one.worst_pain for one in seen.values() if one.worst_pain is not None), default=None)
        for seen in (before, after)
    ]
    if None not in pains:
        lines.append(Line(f"{pains[0]} then, {pains[1]} now, of 10", WORST_PAIN))
    return lines


def _named(protocol: ScreenProtocol, name: str, signs: frozenset[str]) -> list[str]:
    told = ", ".join(words.sign_words(protocol, sign) for sign in sorted(signs))
    return [f"{name}: {told}"] if told else []


def _at_a_glance(history: History) -> Table:
    """Each visit on a row: the answer, the worst pain of the week, falls, what is not as usual."""
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
    for then, now in visit_facts.then_and_now(history):
        lines = (
            *visit_facts.driver_facts(protocol, then, now),
            *visit_facts.moved_facts(protocol, then, now),
        )
        yield Section(lines, f"What moved it, visit {then.number} to {now.number}")


def _progress(protocol: ScreenProtocol, history: History) -> Iterator[Section]:
    then = visit_facts.plan_to_follow(history)
    if then is None:
        return
    now = history.visits[-1]
    lines = [Line(visit_facts.A_PART_ONLY, role="quiet")]
    for progress in visit_facts.plan_followed(protocol, then, now):
        lines.append(Line(visit_facts.progress_name(protocol, progress), role="strong"))
        lines += visit_facts.progress_facts(protocol, progress)
    yield Section(tuple(lines), f"Started at visit {then.number}, seen at visit {now.number}")


def _series(protocol: ScreenProtocol, history: History, series: MeasureSeries) -> Section:
    parts: list[Part] = [visit_facts.series_bars(history, series)]
    errors = []
    for span, change in visit_facts.latest_changes(history, series):
        fact = visit_facts.change_fact(change)
        if change.error in errors:
            # Against which error it is held has been said.
            fact = Line(fact.text.partition(" (MDC95")[0])
        errors.append(change.error)
        parts += [Line(fact.text, span, fact.source), *visit_facts.further_facts(change)]
    better = f" ({series.better_when} is better)"
    return Section(tuple(parts), visit_facts.series_name(protocol, series) + better)


def _remarks(history: History) -> list[Line]:
    told = (visit_facts.left_out_words(history), *history.remarks)
    return [Line(one, mark="-") for one in told if one]


# ------------------------------------------------------------------ for the note


def changes_in_short(
    protocol: ScreenProtocol, before: Sequence[Session], session: Session
) -> list[Line]:
    """What changed since the first visit, on a few lines; nothing where there was none."""
    if not before:
        return []
    first = min(before, key=lambda one: (one.started, one.id))
    changes = [one for one in compare(protocol, first, session) if one.now.done]
    lines = [Line(f"Change since {first.started.date().isoformat()}", role="strong")]
    for verdict, heading, _ in _VERDICTS:
        mine = [
            one
            for one in changes
            if one.verdict == verdict and None not in (one.then.value, one.now.value)
        ]
        told = _in_short(protocol, verdict, mine)
        if told:
            lines.append(Line(words.joined(told), heading.partition(",")[0]))
    return [*lines, *sign_changes(protocol, first, session)]


def changes_on_page(
    protocol: ScreenProtocol, before: Sequence[Session], session: Session
) -> list[Line]:
    """Of the same only what is better or worse, and of signs and pain."""
    lines = changes_in_short(protocol, before, session)
    named = ("Better", "Worse", "Signs gone", "Signs new")
    told = [line for line in lines if line.label in named]
    none = [Line(f"{line.text}: nothing beyond error") for line in lines[:1]]
    return [*(told or none), *(line for line in lines if line.label == WORST_PAIN)]


def _in_short(protocol: ScreenProtocol, verdict: str, changes: Sequence[Change]) -> list[str]:
    """Each number then and now; of what did not change beyond error only the names of the tests.

    What cannot be compared has its reason.
    """
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
    then, now = (visit_facts.value_words(one, change.decimals) for one in (change.then, change.now))
    return f"{name} {then} to {now} {change.unit}"


def change_sections(
    protocol: ScreenProtocol, before: Sequence[Session], session: Session
) -> tuple[Section, ...]:
    """All that this visit and those before it show; nothing where there was none."""
    if not before:
        return ()
    in_order = sorted((*before, session), key=lambda one: (one.started, one.id))
    visits = Visits(session.client.label, session.synthetic, tuple(in_order))
    return _visits_sections(protocol, history_of(protocol, visits))
