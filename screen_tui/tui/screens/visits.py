"""Visits: the patients of the folder, and what the visits of one of them show.

Of one patient: what truly changed first, then the answer, then each number over time.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from textual import events

from screen_tui.engine.change import Change
from screen_tui.engine.visits import History, MeasureSeries, Visit, Visits, history_of, visits_of
from screen_tui.errors import ScreenError
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import visit_facts
from screen_tui.report.visit_facts import TableRow
from screen_tui.session.file import check_against
from screen_tui.session.folder import NEWEST, SessionSummary, read_session, searched
from screen_tui.session.model import Session, label_key
from screen_tui.tui.drawing.rows import (
    BLANK,
    Choice,
    Row,
    Span,
    cursor_row,
    draw_lines,
    labelled,
    paragraph,
    row,
    rule,
    section,
    stacked,
    typed_rows,
)
from screen_tui.tui.drawing.words import NOT_A_DIAGNOSIS, facts_rows, sourced
from screen_tui.tui.field import Field
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.list import ListScreen
from screen_tui.tui.screens.trials import AddendumScreen

if TYPE_CHECKING:
    from screen_tui.tui.app import ScreenApp


class VisitsScreen(ListScreen[None]):
    """Lists the patients with their visits, the latest seen first; what is typed narrows the list.

    Args:
        sessions: Sessions that can be used: all, or the newest.
        older: How many older files of the folder were not read; a search looks at them on Enter.
        searching: Whether words are typed from the start.
    """

    GUIDE = "visits"
    STOPPABLE = False
    CHOOSE = "show"

    def __init__(
        self, sessions: Sequence[SessionSummary], older: int = 0, *, searching: bool = False
    ) -> None:
        super().__init__("Visits")
        self._newest = tuple(sessions)
        self._older = older
        self._patients = patients_of(sessions)
        self._asked_for = ""
        if searching:
            self._begin_search()

    @property
    def wanted(self) -> str:
        """What is searched for."""
        return "" if self.field is None else self.field.value.strip()

    @property
    def shown(self) -> list[tuple[SessionSummary, ...]]:
        """The patients whose code or dates hold what is searched for."""
        wanted = label_key(self.wanted)
        return [
            patient for patient in self._patients if any(wanted in searched(one) for one in patient)
        ]

    def lines(self) -> Sequence[Choice]:
        return tuple(Choice("", "", patient_line(one)) for one in self.shown)

    def head(self) -> tuple[Row, Row]:
        return screen_head("Visits", f"{len(self.shown)} of {len(self._patients)} patients")

    def draw(self, width: int, height: int) -> Drawn:
        if self.field is None:
            return super().draw(width, height)
        cursor = self.field.cursor_position
        typed = [*typed_rows(self.field.value, cursor, width, "Search  "), BLANK]
        rows, (first, last) = draw_lines(self.lines(), self.at, width)
        at = cursor_row(typed)
        return Drawn([*typed, *rows], (min(at, first + len(typed)), last + len(typed)))

    def notice(self) -> str:
        if said := self.said_of_typing or self.said:
            return said
        if not self._patients:
            return "No session is saved yet."
        if self._asks_for_older:
            return f"The newest {NEWEST} sessions are searched; Enter searches {self._older} older."
        if not self.shown:
            return f"No patient code and no date holds {self.wanted}."
        if self._older and not self.wanted:
            return f"The newest {NEWEST} sessions are listed; / also searches {self._older} older."
        return ""

    def hints(self) -> Sequence[KeyHint]:
        enter = "search older" if self._asks_for_older else "show" if self.shown else ""
        own = (KeyHint("Enter", enter, 0, self._enter),) if enter else ()
        move = (KeyHint("↑↓", "move", 2),) if self.shown else ()
        if self.field is None:
            back = KeyHint("b", "back", 0, self.go_back)
            help_ = KeyHint("?", "help", 3, self.host.show_help)
            return (*own, *move, KeyHint("/", "search", 0, self._begin_search), back, help_)
        does = "delete" if self.field.value else "end the search"
        return (*own, KeyHint("Backspace", does, 0, self._end_search), *move)

    def take_key(self, key: str, event: events.Key) -> bool:
        self.said = ""
        if key == "enter":
            self._enter()
            return True
        return super().take_key(key, event)

    def typed(self) -> None:
        self.at = 0
        self.said = ""

    def _begin_search(self) -> None:
        self.field = Field()
        self.at = 0

    def _end_search(self) -> None:
        self.field, self._asked_for = None, ""
        self._patients = patients_of(self._newest)
        self.at = 0

    @property
    def _asks_for_older(self) -> bool:
        """Whether there are older sessions that these words were not looked for in."""
        return bool(self._older and self.wanted and self.wanted != self._asked_for)

    def _enter(self) -> None:
        if self._asks_for_older:
            self._asked_for = self.wanted
            found, self.said = with_older(self.host, self._newest, self.wanted, NEWEST)
            self._patients = patients_of(found)
        elif self.shown:
            self.choose()

    def choose(self) -> None:
        older = self._newest if self._older else ()
        self.said = show_patient(self.host, self.shown[self.at], older)


def with_older(
    host: ScreenApp, newest: Sequence[SessionSummary], wanted: str, most: int | None
) -> tuple[tuple[SessionSummary, ...], str]:
    """The listed sessions, and of the older ones those that hold the words; and what to say."""
    try:
        found = host.controller.store.search(wanted, most=most)
    except ScreenError as error:
        return tuple(newest), str(error)
    said = " ".join(one.problem for one in found.sessions if one.problem)
    if found.older:
        said = f"The newest {NEWEST} with {wanted} are listed. Type more to see others."
    known = {one.path for one in newest}
    usable = (one for one in found.sessions if not one.problem and one.path not in known)
    return (*newest, *usable), said


def show_patient(
    host: ScreenApp, patient: Sequence[SessionSummary], newest: Sequence[SessionSummary]
) -> str:
    """Show the visits of a patient; gives what cannot be shown, in words.

    Args:
        host: The program.
        patient: The sessions of the patient that were read.
        newest: All that were read, where there are older ones in the folder.
    """
    label, synthetic = label_key(patient[0].label), patient[0].synthetic
    found, said = with_older(host, newest, label, None) if newest else (tuple(patient), "")
    mine = [one for one in found if (label_key(one.label), one.synthetic) == (label, synthetic)]
    sessions, problems = read_visits(host.protocol, mine)
    told = " ".join([*([said] if said else []), *problems])
    if sessions:
        (visits,) = visits_of(sessions)
        host.push_screen(ClientScreen(visits, told))
        return ""
    return told


class ClientScreen(BaseScreen[None]):
    """Shows what changed over the visits of one patient.

    Args:
        visits: The sessions of the patient.
        said: What could not be read.
    """

    GUIDE = "visits"
    STOPPABLE = False

    def __init__(self, visits: Visits, said: str = "") -> None:
        super().__init__()
        self.visits = visits
        self.said = said
        self.history: History | None = None

    def on_mount(self) -> None:
        """Read the visits once; they do not change here."""
        self.history = history_of(self.host.protocol, self.visits)
        super().on_mount()

    def head(self) -> tuple[Row, Row]:
        count = len(self.visits.sessions)
        invented = "INVENTED" if self.visits.synthetic else ""
        return screen_head(
            "Visits", invented, f"{count} visit{'s' * (count > 1)}", self.visits.label
        )

    def draw(self, width: int, height: int) -> Drawn:
        del height
        if self.history is None:
            return Drawn(())
        ascii_only = self.host.settings.ascii_only
        return Drawn(draw_history(self.host.protocol, self.history, width, ascii_only=ascii_only))

    def hints(self) -> Sequence[KeyHint]:
        latest = self.visits.sessions[-1]
        own = os.path.lexists(self.host.controller.store.path_of(latest.id))  # no demo
        open_now = own and latest.finished is None
        return (
            KeyHint("r", "retest now", 0, lambda: self.host.go_retest(latest)),
            *((KeyHint("g", "resume it", 1, self._go_on),) if open_now else ()),
            *((KeyHint("a", "addendum", 1, self._add),) if own and latest.finished else ()),
            KeyHint("b", "back", 0, self.go_back, also=("enter",)),
            KeyHint("?", "help", 3, self.host.show_help),
        )

    def _go_on(self) -> None:
        try:
            self.host.go_on_with(self.visits.sessions[-1].id)
        except ScreenError as error:
            self.said = str(error)

    def _add(self) -> None:
        self.host.push_screen(AddendumScreen(self.visits.sessions[-1]), self._added)

    def _added(self, session: Session | None) -> None:
        """Show the visits with what was added to the latest."""
        if session is not None:
            self.visits = replace(self.visits, sessions=(*self.visits.sessions[:-1], session))
            self.history = history_of(self.host.protocol, self.visits)
            self.said = "Added; the note of that visit says so."
            self.redraw()


def patients_of(sessions: Sequence[SessionSummary]) -> list[tuple[SessionSummary, ...]]:
    """The sessions of each patient, newest first; the patient seen last is first."""
    groups: dict[tuple[str, bool], list[SessionSummary]] = {}
    for one in sorted(sessions, key=lambda one: (str(one.started), one.id), reverse=True):
        groups.setdefault((label_key(one.label), one.synthetic), []).append(one)
    return [tuple(mine) for mine in groups.values()]


def read_visits(
    protocol: ScreenProtocol, summaries: Sequence[SessionSummary]
) -> tuple[list[Session], list[str]]:
    """Read the sessions of a patient, and say what cannot be used."""
    sessions, problems = [], []
    for one in summaries:
        try:
            # A demo may be a link; nothing is ever written where it lies.
            document, session = read_session(one.path, links=one.synthetic)
            check_against(session, protocol, document)
        except ScreenError as error:
            problems.append(str(error))
        else:
            sessions.append(session)
    return sessions, problems


def patient_line(sessions: Sequence[SessionSummary]) -> str:
    """A patient in a line: the code, how many visits, and when."""
    newest, oldest = sessions[0].started, sessions[-1].started
    dates = [str(when.date()) for when in (oldest, newest) if when is not None]
    count = len(sessions)
    when = " to ".join(dict.fromkeys(dates))
    return f"{sessions[0].label}: {count} visit{'s' * (count > 1)}, {when}"


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
    # What it amounts to is in the heading; the reason it cannot be said does not.
    text = fact.text if change.verdict == "not comparable" else fact.text.partition(": ")[0]
    strong = change.verdict in ("better", "worse")
    return paragraph(
        f"{name}: {text}", width, "strong" if strong else "plain", first=row(f"{mark} ")
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
