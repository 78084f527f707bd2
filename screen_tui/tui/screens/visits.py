"""Visits: the patients of the folder, and what the visits of one of them show.

Of one patient: what truly changed first, then the answer, then each number over time.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual import events

from screen_tui.engine.visits import History, can_be_compared, history_of, visits_of
from screen_tui.errors import ScreenError
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.visits import visits_document
from screen_tui.session.file import check_against
from screen_tui.session.folder import NEWEST, SessionSummary, read_session, searched
from screen_tui.session.model import Session, label_key
from screen_tui.tui.drawing.document import draw_document
from screen_tui.tui.drawing.rows import BLANK, Choice, Row, cursor_row, draw_lines, typed_rows
from screen_tui.tui.drawing.words import moment
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.list import ListScreen, PickScreen
from screen_tui.tui.screens.trials import AddendumScreen
from screen_tui.tui.widgets import Field
from screen_tui.written_papers import write_again, written_anew

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
    does = "show"

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
        return "" if self.field is None else self.field.value.strip()

    @property
    def shown(self) -> list[tuple[SessionSummary, ...]]:
        wanted = label_key(self.wanted)
        return [
            patient for patient in self._patients if any(wanted in searched(one) for one in patient)
        ]

    def lines(self) -> Sequence[Choice]:
        some = bool(self._older)
        return tuple(Choice("", "", patient_line(one, at_least=some)) for one in self.shown)

    def head(self) -> tuple[Row, Row]:
        of = f", newest {NEWEST} sessions" if self._older and not self._asked_for else ""
        return screen_head("Visits", f"{len(self.shown)} of {len(self._patients)} patients{of}")

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
            return "No session that can be read is saved here."
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
        self.field, self.at = Field(), 0

    def _end_search(self) -> None:
        self.field, self._asked_for, self.at = None, "", 0
        self._patients = patients_of(self._newest)

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
        self.said = show_patient(self.host, self.shown[self.at], self._newest, older=self._older)


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
    host: ScreenApp,
    patient: Sequence[SessionSummary],
    newest: Sequence[SessionSummary],
    *,
    older: int,
) -> str:
    """Show all visits of a patient; gives what cannot be shown, in words.

    ``newest`` are the sessions that were read; of ``older`` ones the patient's are looked for.
    """
    label, synthetic = label_key(patient[0].label), patient[0].synthetic
    found, said = with_older(host, newest, label, None) if older else (tuple(newest), "")
    mine = [one for one in found if (label_key(one.label), one.synthetic) == (label, synthetic)]
    sessions, problems = read_visits(host.protocol, mine)
    text = " ".join([*([said] if said else []), *problems])
    if sessions:
        (visits,) = visits_of(sessions)
        host.push_screen(ClientScreen(visits, text))
        return ""
    return text


class ClientScreen(BaseScreen[None]):
    """Shows what changed over the visits of one patient, and ``said``, what could not be read."""

    GUIDE = "visits"
    STOPPABLE = False

    def __init__(self, visits: tuple[Session, ...], said: str = "") -> None:
        super().__init__()
        self.visits = visits
        self.said = said
        self._at_least = bool(said)
        self.history: History | None = None

    def on_mount(self) -> None:
        """Read the visits once; they do not change here."""
        self.history = history_of(self.host.protocol, self.visits)
        super().on_mount()

    def head(self) -> tuple[Row, Row]:
        invented = "INVENTED" if self.visits[-1].synthetic else ""
        count = _count(len(self.visits), at_least=self._at_least)
        return screen_head("Visits", invented, count, self.visits[-1].client.label.strip())

    def draw(self, width: int, height: int) -> Drawn:
        if self.history is None:
            return Drawn(())
        protocol = self.host.protocol
        document = visits_document(protocol, self.history)
        return Drawn(draw_document(protocol, document, width))

    def hints(self) -> Sequence[KeyHint]:
        latest = self.visits[-1]
        own = os.path.lexists(self.host.controller.store.path_of(latest.id))  # no demo
        open_now = own and latest.finished is None
        return (
            KeyHint("r", "retest now", 0, self._retest),
            *((KeyHint("o", "open a visit", 0, self._open),) if self._finished else ()),
            *((KeyHint("g", "resume it", 1, self._go_on),) if open_now else ()),
            *((KeyHint("a", "addendum", 1, self._add),) if own and latest.finished else ()),
            KeyHint("b", "back", 0, self.go_back, also=("enter",)),
            KeyHint("?", "help", 3, self.host.show_help),
        )

    def _retest(self) -> None:
        """Begin a retest of the latest visit that can be compared with."""
        latest = self.visits[::-1]
        self.host.go_retest(next(filter(can_be_compared, latest), latest[0]))

    @property
    def _finished(self) -> list[tuple[int, Session]]:
        """The visits that can be read, the latest first; an unfinished one is gone on with."""
        numbered = enumerate(self.visits, start=1)
        return [(number, one) for number, one in numbered if one.finished is not None][::-1]

    def _open(self) -> None:
        self.said = ""
        if len(self._finished) > 1:
            picks = []
            for number, one in self._finished:
                key = str(number) if number <= 9 else ""
                stopped = ", stopped" if one.stopped else ""
                text = f"visit {number}, {moment(one.started)}{stopped}"
                picks.append((Choice("", key, text), one))
            self.host.ask(PickScreen("Open a visit", picks, does="open"), self._read)
        else:
            self._read(self._finished[0][1])

    def _read(self, session: Session) -> None:
        known = {one.id: one for one in self.visits if one.id != session.id}
        earlier: list[Session] = []
        follows = session.follows
        while follows in known:
            earlier.append(known.pop(follows))
            follows = earlier[-1].follows
        self.host.read_visit(session, earlier)

    def _go_on(self) -> None:
        try:
            self.host.go_on_with(self.visits[-1].id)
        except ScreenError as error:
            self.said = str(error)

    def _add(self) -> None:
        self.host.ask(AddendumScreen(self.visits[-1]), self._added)

    def _added(self, session: Session) -> None:
        self.visits = (*self.visits[:-1], session)
        self.history = history_of(self.host.protocol, self.visits)
        self.said = self._said_of_papers(session)
        self.redraw()

    def _said_of_papers(self, session: Session) -> str:
        """Bring a written note and sheet up to date, and say what became of them."""
        host = self.host
        folder, now = host.controller.store.folder, host.clock.wall()
        try:
            old = write_again(host.protocol, session, folder, now)
        except ScreenError as error:
            return f"Added. {error} Open the visit and write it to another place."
        if not old:
            return "Added; the note of that visit says so."
        return f"Added, and {written_anew(old)}."


def patients_of(sessions: Sequence[SessionSummary]) -> list[tuple[SessionSummary, ...]]:
    """The sessions of each patient, newest first; the patient seen last is first."""
    groups: dict[tuple[str, bool], list[SessionSummary]] = {}
    begun = [(one.started, one.id, one) for one in sessions if one.started is not None]
    for _, _, one in sorted(begun, key=lambda each: each[:2], reverse=True):
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


def patient_line(sessions: Sequence[SessionSummary], *, at_least: bool = False) -> str:
    """A patient in a line: the code, how many visits, and when.

    Where older sessions were not read there may be more: ``at_least`` says so.
    """
    newest, oldest = sessions[0].started, sessions[-1].started
    dates = [str(when.date()) for when in (oldest, newest) if when is not None]
    when = " to ".join(dict.fromkeys(dates))
    return f"{sessions[0].label}: {_count(len(sessions), at_least=at_least)}, {when}"


def _count(visits: int, *, at_least: bool) -> str:
    return f"{'at least ' if at_least else ''}{visits} visit{'s' * (visits > 1)}"
