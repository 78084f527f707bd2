"""What the visits of a client have to tell, before the report or the screen gives it a form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from string import ascii_lowercase

from screen_tui.engine.change import Change
from screen_tui.engine.results import DriverWeight
from screen_tui.engine.visits import Course, History, Moved, Visit, what_moved
from screen_tui.protocol.model import Protocol
from screen_tui.report.change_words import VERDICTS, value_words
from screen_tui.report.chart import Figure, Mark, chart
from screen_tui.report.facts import Fact
from screen_tui.report.reading_facts import driver_standing
from screen_tui.report.words import (
    driver_name,
    finding_place,
    joined,
    moment,
    number,
    test_name,
    with_side,
)

FIRST = "first"
CORRECTED = "c"
"""Stands behind a number that was corrected by hand."""

MOST_MOVED = 8
"""So many findings are told in full; what is left moved the answer less."""

NOTHING_MOVED = "no finding came or went"
NOT_WEIGHED = "a safety question was answered yes at one of the two, so nothing was weighed there"

_SHORT = {**VERDICTS, "within error": "within error", "no published error": "no published error"}
_HOW = {
    ("new", True): "New",
    ("new", False): "New, and not looked for then",
    ("gone", True): "Gone",
    ("gone", False): "Not looked for now",
}


@dataclass(frozen=True, slots=True)
class TableRow:
    """One visit in the table of a measure; every field in words."""

    visit: str
    on: str
    value: str
    since_first: str
    since_previous: str


def visit_fact(visit: Visit) -> Fact:
    """When a visit was, and what is not as usual about it."""
    client = visit.session.client
    told = [moment(visit.session.started), f"age {client.age}", *visit.marks]
    return Fact(f"Visit {visit.number}", "; ".join(told))


def left_out_words(history: History) -> str:
    """Which visits are not shown; empty where all are."""
    if not history.left_out:
        return ""
    count = history.left_out
    return f"{count} visit{'' if count == 1 else 's'} after the first not shown"


def course_name(protocol: Protocol, course: Course) -> str:
    """``Single-leg stance, left: Hold, best``."""
    return f"{with_side(test_name(protocol, course.test), course.side)}: {course.label}"


def course_table(history: History, course: Course) -> tuple[list[TableRow], list[str]]:
    """The table of a measure, and the notes its letters refer to."""
    notes: list[str] = []
    rows = []
    for visit, point in zip(history.visits, course.points, strict=True):
        first = previous = ""
        if point.reading.value is None:
            first = _noted(point.reading.missing, notes)
        elif point.since_first is None:
            first = FIRST
        else:
            first = _cell(point.since_first, notes)
        if point.since_previous is not None:
            previous = _cell(point.since_previous, notes)
        rows.append(
            TableRow(
                str(visit.number),
                visit.session.started.date().isoformat(),
                value_words(point.reading, course.decimals).replace(" ", "")
                + (CORRECTED if point.reading.corrected else ""),
                first,
                previous,
            )
        )
    told = [f"{_letter(note, notes)} {note}" for note in notes]
    if any(point.reading.corrected for point in course.points):
        told.insert(0, f"{CORRECTED} corrected by hand")
    return rows, told


def latest_changes(history: History, course: Course) -> list[tuple[str, Change]]:
    """The latest number against the first, and against the one before where that is another.

    Each with its visits in words, such as ``Visit 1 to 3``.

    Raises:
        IndexError: The course was measured at fewer than two visits.
    """
    first, before, last = course.measured[0], course.measured[-2], course.measured[-1]
    point = course.points[last]
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


def single_words(history: History, course: Course) -> str:
    """The one number of a measure and its visit, or why there is none."""
    told = zip(history.visits, course.points, strict=True)
    measured = [(visit, point) for visit, point in told if point.reading.value is not None]
    if measured:
        (visit, point), *_ = measured
        value = value_words(point.reading, course.decimals)
        return f"{value} {course.unit} at visit {visit.number}"
    return joined(list(dict.fromkeys(point.reading.missing for point in course.points)))


def _cell(change: Change, notes: list[str]) -> str:
    if change.verdict != "not comparable":
        return _SHORT[change.verdict]
    return f"not comparable {_letter(change.why_not, notes)}"


def _noted(missing: str, notes: list[str]) -> str:
    """Why there is no number; what is longer than the cell goes below the table."""
    what, _, more = missing.partition(" (")
    return f"{what} {_letter(more.removesuffix(')'), notes)}" if more else missing


def _letter(note: str, notes: list[str]) -> str:
    if note not in notes:
        notes.append(note)
    return f"({ascii_lowercase[notes.index(note)]})"


def course_chart(
    history: History, course: Course, *, width: int, height: int = 9, ascii: bool = False
) -> list[str]:
    """The chart of a measure; a sentence where there are fewer than two numbers."""
    marks = [
        Mark(
            visit.session.started.date(),
            point.reading.value,
            at_least=point.reading.full,
            apart=_apart(point.since_first),
        )
        for visit, point in zip(history.visits, course.points, strict=True)
    ]
    line = None if course.line is None else (course.line.meets, course.line.limit)
    error = None if course.error is None else course.error.mdc95
    figure = Figure(course.unit, course.decimals, course.better_when, line, error)
    # Visits are in the order of their start, which two offsets from UTC can turn round by a day.
    return chart(
        sorted(marks, key=lambda mark: mark.on), figure, width=width, height=height, ascii=ascii
    )


def _apart(change: Change | None) -> bool:
    """Done in another way than the first; a full hold was not."""
    if change is None or change.verdict != "not comparable":
        return False
    return not (change.then.full or change.now.full)


def answer_facts(visits: Sequence[Visit]) -> list[Fact]:
    """What each visit came to, in one sentence."""
    return [Fact(f"Visit {visit.number}", visit.assessment.headline) for visit in visits]


def driver_facts(protocol: Protocol, then: Visit, now: Visit) -> list[Fact]:
    """How each driver that led at either visit stood then and stands now."""
    leading = dict.fromkeys(
        (one.driver, one.side) for visit in (then, now) for one in visit.assessment.leading
    )
    return [
        Fact(
            with_side(driver_name(protocol, driver), side),
            f"{_stood(then, (driver, side))} then; {_stood(now, (driver, side))} now",
        )
        for driver, side in leading
    ]


def _stood(visit: Visit, place: tuple[str, str | None]) -> str:
    found: list[DriverWeight] = [
        one for one in visit.assessment.drivers if (one.driver, one.side) == place
    ]
    return driver_standing(found[0]) if found else "not weighed"


def moved_facts(protocol: Protocol, then: Visit, now: Visit) -> list[Fact]:
    """What moved the answer, strongest first; a sentence where nothing did."""
    if "refer-first" in (then.assessment.outcome, now.assessment.outcome):
        return [Fact("", NOT_WEIGHED)]
    moved = what_moved(protocol, (then.session, then.assessment), (now.session, now.assessment))
    facts = [_moved_fact(protocol, one) for one in moved[:MOST_MOVED]]
    left = len(moved) - len(facts)
    if left:
        facts.append(Fact("", f"and {left} more that moved the answer less"))
    return facts or [Fact("", NOTHING_MOVED)]


def _moved_fact(protocol: Protocol, moved: Moved) -> Fact:
    finding = moved.finding
    tested = moved.tested_then if moved.how == "new" else moved.tested_now
    label = _HOW.get((moved.how, tested), moved.how.capitalize())
    speaks = "for" if finding.decibans > 0 else "against"
    driver = with_side(driver_name(protocol, finding.driver), finding.side)
    place = finding_place(protocol, finding)
    by = (
        f"weight {number(moved.counted, 1)}"
        if moved.counted <= 0
        else (f"weight +{number(moved.counted, 1)}")
    )
    told = f"{finding.reason.rstrip('.')} ({place}; {speaks} {driver}, {by})"
    return Fact(label, told, finding.source)
