"""Visits: the clients of the folder, and what the visits of one of them show.

Of one client: what truly changed first, then the answer, then each number over time.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import replace

from textual import events

from screen_tui.engine.visits import History, Visits, history_of, visits_of
from screen_tui.errors import ScreenError
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.visits import visits_document
from screen_tui.session.file import check_against
from screen_tui.session.folder import NEWEST, SessionSummary, read_session, searched
from screen_tui.session.model import Session, label_key
from screen_tui.tui.drawing.document import draw_document
from screen_tui.tui.drawing.rows import Choice, Row
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.dialogs import TypeInDialog
from screen_tui.tui.screens.list import ListScreen
from screen_tui.tui.screens.trials import AddendumScreen


class VisitsScreen(ListScreen[None]):
    """Lists the clients with their visits, the latest seen first; / narrows the list.

    Args:
        sessions: Sessions that can be used: all, or the newest.
        older: How many older files of the folder were not read; a search looks at them.
    """

    GUIDE = "visits"
    STOPPABLE = False
    CHOOSE = "show"

    def __init__(self, sessions: Sequence[SessionSummary], older: int = 0) -> None:
        super().__init__("Visits")
        self._newest = tuple(sessions)
        self._older = older
        self._clients = clients_of(sessions)
        self.wanted = ""

    @property
    def shown(self) -> list[tuple[SessionSummary, ...]]:
        """The clients whose label or dates hold what was searched for."""
        wanted = label_key(self.wanted)
        return [
            client for client in self._clients if any(wanted in searched(one) for one in client)
        ]

    def lines(self) -> Sequence[Choice]:
        return tuple(Choice("", "", _client_line(one)) for one in self.shown)

    def head(self) -> tuple[Row, Row]:
        count = f"{len(self.shown)} of {len(self._clients)} patients"
        return screen_head("Visits", f"with {self.wanted}" if self.wanted else "", count)

    def notice(self) -> str:
        if self.said:
            return self.said
        if not self._clients:
            return "No session is saved yet."
        if not self.shown:
            return f"No patient code and no date holds {self.wanted}."
        if self._older and not self.wanted:
            return f"The newest {NEWEST} sessions are listed; / also searches {self._older} older."
        return ""

    def hints(self) -> Sequence[KeyHint]:
        return (
            *((KeyHint("Enter", "show", 0), KeyHint("↑↓", "move", 2)) if self.shown else ()),
            KeyHint("/", "search", 0, self._ask_for_words),
            *((KeyHint("x", "all again", 1, self._show_all),) if self.wanted else ()),
            KeyHint("b", "back", 0, self.go_back),
            KeyHint("?", "help", 3, self.host.show_help),
        )

    def take_key(self, key: str, event: events.Key) -> bool:
        self.said = ""
        return super().take_key(key, event)

    def _ask_for_words(self) -> None:
        lead = "A part of a patient code, or of a date such as 2026-03."
        self.host.push_screen(TypeInDialog("Search", lead), self._search)

    def _show_all(self) -> None:
        self._search("")

    def _search(self, wanted: str | None) -> None:
        if wanted is None:
            return
        self.wanted, self.at = wanted, 0
        found = self._with_older(wanted, NEWEST) if wanted else self._newest
        self._clients = clients_of(found)
        self.redraw()

    def _with_older(self, wanted: str, most: int | None) -> tuple[SessionSummary, ...]:
        """The listed sessions, and of the older ones those whose label or date holds the words."""
        if not self._older:
            return self._newest
        try:
            found = self.host.controller.store.search(wanted, most=most)
        except ScreenError as error:
            self.said = str(error)
            return self._newest
        self.said = " ".join(one.problem for one in found.sessions if one.problem)
        if found.older:
            self.said = f"The newest {NEWEST} with {wanted} are listed. Type more to see others."
        known = {one.path for one in self._newest}
        usable = (one for one in found.sessions if not one.problem and one.path not in known)
        return (*self._newest, *usable)

    def _all_visits_of(self, client: Sequence[SessionSummary]) -> tuple[SessionSummary, ...]:
        """The visits of a client, the older ones too."""
        label, synthetic = label_key(client[0].label), client[0].synthetic
        found = self._with_older(label, None) if self._older else tuple(client)
        mine = (one for one in found if (label_key(one.label), one.synthetic) == (label, synthetic))
        return tuple(mine)

    def choose(self) -> None:
        client = self._all_visits_of(self.shown[self.at])
        sessions, problems = read_visits(self.host.protocol, client)
        if not sessions:
            self.said = " ".join(problems)
            return
        (visits,) = visits_of(sessions)
        self.host.push_screen(ClientScreen(visits, " ".join(problems)))


class ClientScreen(BaseScreen[None]):
    """Shows what changed over the visits of one client.

    Args:
        visits: The sessions of the client.
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
        protocol = self.host.protocol
        document = visits_document(protocol, self.history)
        return Drawn(draw_document(protocol, document, width))

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


def clients_of(sessions: Sequence[SessionSummary]) -> list[tuple[SessionSummary, ...]]:
    """The sessions of each client, newest first; the client seen last is first."""
    groups: dict[tuple[str, bool], list[SessionSummary]] = {}
    for one in sorted(sessions, key=lambda one: (str(one.started), one.id), reverse=True):
        groups.setdefault((label_key(one.label), one.synthetic), []).append(one)
    return [tuple(mine) for mine in groups.values()]


def read_visits(
    protocol: ScreenProtocol, summaries: Sequence[SessionSummary]
) -> tuple[list[Session], list[str]]:
    """Read the sessions of a client, and say what cannot be used."""
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


def _client_line(sessions: Sequence[SessionSummary]) -> str:
    newest, oldest = sessions[0].started, sessions[-1].started
    dates = [str(when.date()) for when in (oldest, newest) if when is not None]
    count = len(sessions)
    when = " to ".join(dict.fromkeys(dates))
    return f"{sessions[0].label}: {count} visit{'s' * (count > 1)}, {when}"
