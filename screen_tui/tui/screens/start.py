"""Start: what is unfinished, a new session, the patients seen lately, the invented ones."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path

from textual import events

from screen_tui.errors import ScreenError
from screen_tui.report.words import NOT_A_DIAGNOSIS
from screen_tui.session.file import load_session
from screen_tui.session.folder import Listed, SessionSummary
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore
from screen_tui.tui.draft import Waiting
from screen_tui.tui.drawing.rows import (
    BLANK,
    LINE,
    Choice,
    Row,
    bulleted,
    draw_lines,
    paragraph,
    rule,
)
from screen_tui.tui.drawing.words import moment
from screen_tui.tui.keys import KeyHint, digits
from screen_tui.tui.screens.base import Drawn, screen_head
from screen_tui.tui.screens.list import ListScreen, keyed
from screen_tui.tui.screens.preferences import PreferencesScreen
from screen_tui.tui.screens.visits import VisitsScreen, patient_line, patients_of, show_patient

LATER_VISITS = "visits"
"""Beside the invented sessions, later visits of the same invented people."""
MOST_RECENT = 7
"""Patients seen lately that are listed; a search finds the others."""
_OF_LINES = frozenset(("enter", "space", "up", "down", "tab", "shift+tab", *"123456789"))
"""Keys that act on a line of the list."""
_UNFINISHED = "Unfinished"
_RECENT = "Seen lately"
_DEMO = "Demo, invented people, read-only"

Way = Callable[[], object]


class StartScreen(ListScreen[None]):
    """Lists what can be begun, gone on with or looked at."""

    STOPPABLE = False

    def __init__(self, notice: str = "") -> None:
        super().__init__("Start")
        self.said = notice
        self.problems: tuple[str, ...] = ()
        self.remarks: tuple[str, ...] = ()
        self._listed: tuple[tuple[Choice, Way], ...] = ()
        self._unsaved: tuple[Session, ...] = ()
        self._sessions: tuple[SessionSummary, ...] = ()
        self._older = 0

    def on_mount(self) -> None:
        self.read_lists()
        super().on_mount()

    def on_screen_resume(self) -> None:
        """Take in what became of sessions that were not saved when they were listed."""
        if self.host.controller.unsaved != self._unsaved and not self.gone:
            self.said = ""
            self.read_lists()
        super().on_screen_resume()

    def read_lists(self) -> None:
        host, controller = self.host, self.host.controller
        found, problems, self._older = _usable(controller.store.newest)
        demos, demo_problems = _demos(host.demo_folder) if host.demo_folder else ((), ())
        remark = controller.take_remark()
        warnings = controller.folder_warnings(found)
        self.remarks = (*self.remarks, *([remark] if remark else []), *warnings)
        self._sessions = (*found, *demos)
        waiting, draft_problems = controller.answers_left()
        self.problems = (*host.preferred.problems, *draft_problems, *problems, *demo_problems)
        self._unsaved = controller.unsaved
        recent = patients_of([one for one in found if one.finished is not None])[:MOST_RECENT]
        self._listed = (
            *(
                (Choice(_UNFINISHED, key, text), way)
                for key, (text, way) in keyed(self._unfinished(found, waiting))
            ),
            (Choice("", "n", "New session"), host.go_before_testing),
            *(
                (
                    Choice(_RECENT, "", patient_line(one, at_least=bool(self._older))),
                    partial(self._show_patient, one),
                )
                for one in recent
            ),
            *((Choice(_DEMO, "", _demo_line(one)), partial(self._open_demo, one)) for one in demos),
        )
        self.at = min(self.at, len(self._listed) - 1)

    def _unfinished(
        self, found: Sequence[SessionSummary], waiting: Sequence[Waiting]
    ) -> Iterator[tuple[str, Way]]:
        """What can be gone on with, the latest first; what another window has comes last."""
        lines: list[tuple[bool, datetime, str, Way]] = [
            (one.open_elsewhere, one.begun, _draft_line(one), partial(self._go_on, one))
            for one in waiting
        ]
        for session in self._unsaved:
            text = f"{_begun(session.client.label, session.started)}; last changes NOT SAVED"
            lines.append((False, session.started, text, partial(self._resume, session.id)))
        unsaved = {one.id for one in self._unsaved}
        for one in found:
            if one.finished is None and one.started is not None and one.id not in unsaved:
                text = _begun(one.label, one.started) + _where(one)
                resume = partial(self._resume, one.id)
                lines.append((one.open_elsewhere, one.started, text, resume))
        for _, _, text, way in sorted(lines, key=lambda one: (one[0], -one[1].timestamp())):
            yield text, way

    def lines(self) -> Sequence[Choice]:
        return [choice for choice, _ in self._listed]

    def choose(self) -> None:
        self._listed[self.at][1]()

    def head(self) -> tuple[Row, Row]:
        return screen_head(self.heading, self.host.protocol.battery.name)

    def draw(self, width: int, height: int) -> Drawn:
        rows, (first, last) = self._rows(width)
        if self.at == len(self._listed) - 1:
            # What is below the list has no line of its own to move to.
            last = min(len(rows), first + height) - 1
        return Drawn(rows, (first, last))

    def _rows(self, width: int) -> tuple[list[Row], tuple[int, int]]:
        """The remarks, the list, and below it the files that cannot be used; the chosen line."""
        rows = [
            line for text in self.remarks for line in (*paragraph(text, width, "second"), BLANK)
        ]
        above = len(rows)
        listed, (first, last) = draw_lines(self.lines(), self.at, width)
        rows += [*listed, BLANK]
        if self.problems:
            rows.append(rule(width, "Files that cannot be used; they are left as they are"))
            rows += [*bulleted(self.problems, width), BLANK]
        rows += paragraph(NOT_A_DIAGNOSIS, width, "quiet")
        # The first line brings what is above it into sight.
        return rows, (first + above if self.at else 0, last + above)

    def hints(self) -> Sequence[KeyHint]:
        host = self.host
        resumable = sum(choice.section == _UNFINISHED for choice in self.lines())
        resume = (KeyHint(digits(min(resumable, 9)), "resume", 1),) if resumable else ()
        return (
            KeyHint("Enter", "open", 0, self.choose, also=("space",)),
            KeyHint("n", "new session", 1, host.go_before_testing),
            *resume,
            KeyHint("↑↓", "choose", 3),
            KeyHint("/", "search", 1, lambda: self._show_visits(searching=True)),
            KeyHint("v", "visits", 3, self._show_visits),
            KeyHint("p", "practice", 1, host.go_practice),
            KeyHint("o", "preferences", 2, lambda: host.push_screen(PreferencesScreen())),
            KeyHint("?", "help", 0, host.show_help),
            KeyHint("q", "quit", 0, host.ask_to_leave),
        )

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(LINE):
            self.at = int(press.removeprefix(LINE))
            press = "enter"
        super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        if not self.host.was_seen(event.time) and key in _OF_LINES:
            return True  # the lines it would act on were not on the screen yet
        self.said = ""
        return super().take_key(key, event)

    def _show_visits(self, *, searching: bool = False) -> None:
        # Later visits of the invented people are read only now.
        folder = self.host.demo_folder
        later = _demos(folder / LATER_VISITS)[0] if folder else ()
        page = VisitsScreen((*self._sessions, *later), self._older, searching=searching)
        self.host.push_screen(page)

    def _show_patient(self, patient: Sequence[SessionSummary]) -> None:
        self.said = show_patient(self.host, patient, self._sessions, older=self._older)

    def _go_on(self, draft: Waiting) -> None:
        controller = self.host.controller
        try:
            form = controller.go_on_with_answers(draft.id)
        except ScreenError as error:
            self.read_lists()
            self.said = str(error)
            return
        earlier, remark = None, ""
        try:
            earlier = controller.followed_by_answers
        except ScreenError as error:
            remark = f"The findings of the earlier visit cannot be shown: {error}"
        self.host.go_before_testing(form, earlier, remark)

    def _resume(self, session_id: str) -> None:
        try:
            self.host.go_on_with(session_id)
        except ScreenError as error:
            self.read_lists()
            self.said = str(error)

    def _open_demo(self, one: SessionSummary) -> None:
        try:
            self.host.controller.open_demo(one.path)
        except ScreenError as error:
            self.said = str(error)
            return
        self.host.go_result()


def _usable(read: Callable[[], Listed]) -> tuple[tuple[SessionSummary, ...], tuple[str, ...], int]:
    """The sessions that can be used, what is wrong with the others, and how many were not read."""
    try:
        found = read()
    except ScreenError as error:
        return (), (str(error),), 0
    usable = tuple(one for one in found.sessions if not one.problem)
    return usable, tuple(one.problem for one in found.sessions if one.problem), found.older


def _demos(folder: Path) -> tuple[tuple[SessionSummary, ...], tuple[str, ...]]:
    """The invented sessions of a folder, and what is wrong with those that cannot be used."""
    return _usable(lambda: Listed(SessionStore(folder).list(links=True), 0))[:2]


def _begun(label: str, when: datetime) -> str:
    return f"{label}, begun {moment(when)}"


def _where(one: SessionSummary | Waiting) -> str:
    return "; open in another window" if one.open_elsewhere else ""


def _draft_line(draft: Waiting) -> str:
    answered, asked = draft.form.progress
    label = draft.form.to_save.get("label", "")
    how_far = f"{answered} of {asked} answered{f', {label}' if label else ''}"
    refer = "REFER FIRST: resume" if draft.form.raised else "Resume"
    return f"{refer} the questions ({how_far}), begun {moment(draft.begun)}{_where(draft)}"


def _demo_line(one: SessionSummary) -> str:
    session = load_session(one.path)
    asked = session.intake
    knee = "both knees" if asked.side == "both" else f"{asked.side} knee"
    wants = ", ".join(asked.goals) or "no goal named"
    return f"{one.label}: age {session.client.age}, {knee}, {wants}"
