"""A practice run: the questions, the student's answer, and what comes after it."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.errors import SaveFailedError
from screen_tui.practice.scoring import Commitment
from screen_tui.trial.battery import plan_battery, withheld
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_so_far import intake_so_far
from screen_tui.tui.commit_form import CommitForm
from screen_tui.tui.drawing.before_testing import beside, draw_battery, question_width
from screen_tui.tui.drawing.practice_run import draw_commitment, draw_interview
from screen_tui.tui.drawing.practice_scores import draw_answers, draw_scores
from screen_tui.tui.drawing.rows import BLANK, LINE, Row, Span
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.practising import Practising
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.before_testing import BeforeTestingScreen
from screen_tui.tui.screens.note import NoteScreen
from screen_tui.tui.screens.practice import ask_to_leave_practice
from screen_tui.tui.screens.practice_test import PracticeTestScreen
from screen_tui.tui.screens.result import PlanScreen, ResultScreen
from screen_tui.tui.screens.test import TestScreen

ASK_FURTHER = "h"
NOT_PUT = frozenset({"note"})
"""What the student writes is no question to the patient."""


class PracticeQuestionsScreen(BeforeTestingScreen):
    """The ordinary form; below it stands what the patient says to the question that is open."""

    def __init__(self, form: IntakeForm | None, practising: Practising) -> None:
        super().__init__(form)
        self.practising = practising

    def on_mount(self) -> None:
        if self.form is not None:
            self._put(self.form.at)
        super().on_mount()

    def head(self) -> tuple[Row, Row]:
        left, right = super().head()
        return (*left, Span(", practice", "first")), right

    def draw(self, width: int, height: int) -> Drawn:
        if self.form is None:
            return Drawn(())
        heard = self.practising.interview.heard(self.form.at)
        left = question_width(width)
        shown, words = draw_interview(self.form.rows(), heard, width, left, height)
        room = height - len(words)
        if left < width:
            protocol, intake = self.host.controller.protocol, intake_so_far(self.form)
            items, held_back = plan_battery(protocol, intake), withheld(protocol, intake)
            shown = beside(
                shown, draw_battery(protocol, items, held_back, width - left - 2)[:room], left
            )
        return Drawn([*shown, *([BLANK] * (room - len(shown))), *words])

    def hints(self) -> Sequence[KeyHint]:
        more = (KeyHint(ASK_FURTHER, "hear more", 0),) if self._may_ask else ()
        return (*more, *super().hints())

    @property
    def _may_ask(self) -> bool:
        form = self.form
        if form is None or form.current.kind == "text" or form.at in NOT_PUT:
            return False
        return self.practising.interview.may_know_more(form.at)

    def take_key(self, key: str, event: events.Key) -> bool:
        if key == ASK_FURTHER and self._may_ask and self.form is not None:
            interview = self.practising.interview
            self.practising.interview = interview.ask(self.form.at)
            return True
        return super().take_key(key, event)

    def _take(self, form: IntakeForm) -> None:
        super()._take(form)
        self._put(form.at)

    def _put(self, question: str) -> None:
        """Put a question when it is opened for the first time."""
        interview = self.practising.interview
        if question not in NOT_PUT and not interview.heard(question):
            self.practising.interview = interview.ask(question)

    def _ask_to_leave(self, form: IntakeForm) -> None:
        del form
        ask_to_leave_practice(self.host)


class RevealScreen(BaseScreen[None]):
    """Shows the answers, then the scores; the run is saved once, when it is first shown."""

    STOPPABLE = False

    def __init__(self, practising: Practising, commitment: Commitment) -> None:
        super().__init__()
        self.practising = practising
        self.commitment = commitment
        self.scored = practising.score(commitment)
        self.run_to_save = practising.finished(commitment, self.scored)
        self.unsaved = ""
        self.page = 1

    def on_mount(self) -> None:
        self._save()
        super().on_mount()

    def _save(self) -> None:
        self.unsaved = ""
        try:
            self.practising.runs.save(self.run_to_save)
        except SaveFailedError as error:
            self.unsaved = str(error)

    def head(self) -> tuple[Row, Row]:
        title = "Answers" if self.page == 1 else "Scores"
        return screen_head(f"{title} {self.page}/2", self.practising.case.title)

    def draw(self, width: int, height: int) -> Drawn:
        del height
        protocol, case = self.practising.controller.protocol, self.practising.case
        drawing = draw_answers if self.page == 1 else draw_scores
        return Drawn(drawing(protocol, case, self.commitment, self.scored, width))

    def notice(self) -> str:
        return self.unsaved

    def hints(self) -> Sequence[KeyHint]:
        again = (KeyHint("s", "save again", 0),) if self.unsaved else ()
        if self.page == 1:
            return (*again, KeyHint("Enter", "scores", 0))
        return (*again, KeyHint("Enter", "cases", 0), KeyHint("b", "answers", 0))

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        if key == "s" and self.unsaved:
            self._save()
        elif key == "enter" and self.page == 1:
            self._turn(2)
        elif key == "b" and self.page == 2:
            self._turn(1)
        elif key == "enter":
            self.host.go_practice(
                "" if self.unsaved else "The run is saved; p shows how you get on."
            )
        else:
            return False
        return True

    def _turn(self, page: int) -> None:
        self.page = page
        self.scroll("home")


class CommitScreen(BaseScreen[None]):
    """Draws the form and hands it the keys; committing is a key of its own at the end."""

    STOPPABLE = False

    def __init__(self, practising: Practising) -> None:
        super().__init__()
        self.practising = practising
        self.form = CommitForm(practising.controller.protocol)

    def head(self) -> tuple[Row, Row]:
        count = len(self.form.steps)
        place = f"{min(self.form.at + 1, count)} of {count}"
        return screen_head("Your answer", place, self.practising.case.patient.label)

    def draw(self, width: int, height: int) -> Drawn:
        del height
        rows, focus = draw_commitment(self.form, width)
        return Drawn(rows, focus)

    @property
    def _back_to_tests(self) -> bool:
        return self.form.at == 0 and self.practising.controller.tests_possible

    def hints(self) -> Sequence[KeyHint]:
        step = self.form.step
        back = (KeyHint("Backspace", "back", 0),) if self.form.at else ()
        if step is None:
            return (KeyHint("Enter", "commit", 0), *back)
        tests = (KeyHint("b", "tests", 0),) if self._back_to_tests else ()
        leave = (KeyHint("q", "leave", 2),)
        move = KeyHint("↑↓", "move", 1)
        if step.several:
            mark = (KeyHint("Space", "mark", 0), KeyHint("Enter", "go on", 0))
            return (*mark, move, *back, *tests, *leave)
        digits = f"1-{min(len(step.options), 9)}"
        return (
            KeyHint(digits, "choose", 0),
            KeyHint("Enter", "choose", 1),
            move,
            *back,
            *tests,
            *leave,
        )

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(LINE):
            self.form = self.form.pointed_at(int(press.removeprefix(LINE)))
            self.redraw()
        else:
            super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        if self.form.step is None and key == "enter":
            self._commit()
            return True
        if key == "b" and self._back_to_tests:
            self.host.go_test()
            return True
        if key == "q":
            ask_to_leave_practice(self.host)
            return True
        form = self.form.key(key)
        changed = form != self.form
        self.form = form
        return changed

    def _commit(self) -> None:
        self.practising.commitment = self.form.result()
        self.host.switch_screen(RevealScreen(self.practising, self.practising.commitment))


def in_practice(page: BaseScreen[None], practising: Practising) -> BaseScreen[None]:
    """The page to show: no way leads to a result, all lead to the student's own answer."""
    match page:
        case ResultScreen() | PlanScreen() | NoteScreen():
            return CommitScreen(practising)
        case BeforeTestingScreen():
            return PracticeQuestionsScreen(page.form, practising)
        case TestScreen():
            return PracticeTestScreen(practising, page.said)
    return page
