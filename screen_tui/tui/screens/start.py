"""Start: a new screen, unfinished ones, and the invented ones to look at."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from textual import events

from screen_tui.errors import ScreenError
from screen_tui.session.file import load_session
from screen_tui.session.folder import Listed, SessionSummary
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore
from screen_tui.tui.draft import Waiting
from screen_tui.tui.drawing.rows import LINE, Choice, Row
from screen_tui.tui.drawing.start import draw_start
from screen_tui.tui.drawing.words import moment
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.help import HelpScreen
from screen_tui.tui.screens.preferences import PreferencesScreen
from screen_tui.tui.screens.visits import VisitsScreen

LATER_VISITS = "visits"
"""Beside the invented sessions, later visits of the same invented people."""
_UNFINISHED = "Unfinished"


class StartScreen(BaseScreen[None]):
    """Lists what can be begun, gone on with or looked at.

    Args:
        notice: A sentence about what just happened.
    """

    STOPPABLE = False

    def __init__(self, notice: str = "") -> None:
        super().__init__()
        self.at = 0
        self.said = notice
        self.problems: tuple[str, ...] = ()
        self.told: tuple[str, ...] = ()
        self.choices: tuple[Choice, ...] = ()
        self._doing: list[Callable[[], None]] = []
        self._unsaved: tuple[Session, ...] = ()
        self._sessions: tuple[SessionSummary, ...] = ()
        self._older = 0

    def on_mount(self) -> None:
        """Read the lists and draw."""
        self.read_lists()
        super().on_mount()

    def on_screen_resume(self) -> None:
        """Take in what became of sessions that were not saved when they were listed."""
        controller = self.host.controller
        if controller.unsaved != self._unsaved and not self.gone:
            self.said = ""
            self.read_lists()
        super().on_screen_resume()

    def read_lists(self) -> None:
        """Find the unfinished and the invented sessions; files that cannot be used are told."""
        host = self.host
        found, problems, self._older = _usable(host.controller.store.newest)
        demos, demo_problems = _demos(host.demo_folder) if host.demo_folder else ((), ())
        remark = host.controller.take_remark()
        self.told = (
            *self.told,
            *([remark] if remark else []),
            *host.controller.folder_warnings(found),
        )
        self._sessions = (*found, *demos)
        waiting, draft_problems = host.controller.draft.waiting()
        self.problems = (*host.preferred.problems, *draft_problems, *problems, *demo_problems)
        choices = [Choice("", "n", "New screen")]
        self._doing = [host.go_before_testing]
        digits = iter("123456789")
        for draft in waiting:
            choices.append(Choice(_UNFINISHED, next(digits, ""), _draft_line(draft)))
            self._doing.append(lambda draft=draft: self._go_on(draft))  # type: ignore[misc]
        self._unsaved = host.controller.unsaved
        unsaved = {one.id: _begun(one.client.label, one.started) for one in self._unsaved}
        offered = {id_: f"{text}; last changes NOT SAVED" for id_, text in unsaved.items()}
        for one in found:
            if one.finished is None and one.started is not None and one.id not in unsaved:
                where = "; open in another window" if one.open_elsewhere else ""
                offered[one.id] = _begun(one.label, one.started) + where
        for session_id, text in offered.items():
            choices.append(Choice(_UNFINISHED, next(digits, ""), text))
            self._doing.append(lambda id_=session_id: self._resume(id_))  # type: ignore[misc]
        for one in demos:
            choices.append(Choice("Demo, invented people, read-only", "", _demo_line(one)))
            self._doing.append(lambda one=one: self._open_demo(one))  # type: ignore[misc]
        self.choices = tuple(choices)
        self.at = min(self.at, len(choices) - 1)

    def head(self) -> tuple[Row, Row]:
        return screen_head("Knee screen", self.host.protocol.battery.name)

    def draw(self, width: int, height: int) -> Drawn:
        rows, (first, last) = draw_start(self.choices, self.at, self.problems, width, self.told)
        if self.at == len(self.choices) - 1:
            # What is told below the list has no line of its own to move to.
            last = min(len(rows), first + height) - 1
        return Drawn(rows, (first, last))

    def notice(self) -> str:
        return self.said

    def hints(self) -> Sequence[KeyHint]:
        resumable = sum(choice.section == _UNFINISHED for choice in self.choices)
        digits = "1" if resumable == 1 else f"1-{min(resumable, 9)}"
        resume = (KeyHint(digits, "resume", 2),) if resumable else ()
        return (
            KeyHint("Enter", "open", 0),
            KeyHint("n", "new screen", 1),
            *resume,
            KeyHint("↑↓", "choose", 3),
            KeyHint("v", "visits", 1),
            KeyHint("p", "practice", 1),
            KeyHint("o", "options", 1),
            KeyHint("?", "help", 0),
            KeyHint("q", "quit", 0),
        )

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(LINE):
            self.at = int(press.removeprefix(LINE))
            press = "enter"
        super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        self.said = ""
        if key in ("up", "shift+tab"):
            self.at = (self.at - 1) % len(self.choices)
        elif key in ("down", "tab"):
            self.at = (self.at + 1) % len(self.choices)
        elif key in ("enter", "space"):
            self._doing[self.at]()
        elif key == "n":
            self.host.go_before_testing()
        elif key == "q":
            self.host.ask_to_leave()
        elif key == "v":
            self._show_visits()
        elif key == "p":
            self.host.go_practice()
        elif key == "o":
            self._show_preferences()
        elif key == "?":
            self.host.push_screen(HelpScreen(self.host.protocol))
        elif key.isdecimal() and key in (keys := [choice.key for choice in self.choices]):
            self._doing[keys.index(key)]()
        else:
            return False
        return True

    def _show_visits(self) -> None:
        sessions = (*self._sessions, *self._later_visits())
        self.host.push_screen(VisitsScreen(sessions, self._older))

    def _show_preferences(self) -> None:
        self.host.push_screen(PreferencesScreen())

    def _later_visits(self) -> tuple[SessionSummary, ...]:
        """Later visits of the invented people; read when visits are asked for."""
        if self.host.demo_folder is None:
            return ()
        return _demos(self.host.demo_folder / LATER_VISITS)[0]

    def _go_on(self, draft: Waiting) -> None:
        try:
            form = self.host.controller.draft.go_on(draft.path)
        except ScreenError as error:
            self.said = str(error)
            return
        earlier, told = None, ""
        try:
            earlier = self.host.controller.followed_by_answers
        except ScreenError as error:
            told = f"What was found at the earlier visit cannot be shown: {error}"
        self.host.go_before_testing(form, earlier, told)

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


def _usable(
    read: Callable[[], Listed],
) -> tuple[tuple[SessionSummary, ...], tuple[str, ...], int]:
    """The sessions that can be used, what is wrong with the others, and how many were not read."""
    try:
        found = read()
    except ScreenError as error:
        return (), (str(error),), 0
    usable = tuple(one for one in found.sessions if not one.problem)
    return usable, tuple(one.problem for one in found.sessions if one.problem), found.older


def _demos(folder: Path) -> tuple[tuple[SessionSummary, ...], tuple[str, ...]]:
    """The invented sessions of a folder, and what is wrong with those that cannot be used."""
    usable, problems, _ = _usable(lambda: Listed(SessionStore(folder).list(links=True), 0))
    return usable, problems


def _begun(label: str, when: datetime) -> str:
    return f"{label}, begun {moment(when)}"


def _draft_line(draft: Waiting) -> str:
    label = f", {draft.label}" if draft.label else ""
    how_far = f"{draft.answered} of {draft.asked} answered{label}"
    return f"Go on with the questions ({how_far}), begun {moment(draft.begun)}"


def _demo_line(one: SessionSummary) -> str:
    session = load_session(one.path)
    asked = session.intake
    knee = "both knees" if asked.side == "both" else f"{asked.side} knee"
    wants = ", ".join(asked.goals) or "no goal named"
    return f"{one.label}: age {session.client.age}, {knee}, {wants}"
