"""Practice: the simulated patients, how often they were seen, and the story of one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual import events

from screen_tui.errors import ScreenError
from screen_tui.practice.case import Case
from screen_tui.practice.files import RunStore, load_cases
from screen_tui.practice.run import PracticeRun, progress_of
from screen_tui.tui.drawing.practice_scores import draw_progress, runs_words
from screen_tui.tui.drawing.rows import BLANK, Choice, Row, draw_lines, paragraph
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.practising import Practising, cases_folders, form_of, runs_folder
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.dialogs import AskDialog, Question
from screen_tui.tui.screens.list import ListScreen

if TYPE_CHECKING:
    from screen_tui.tui.app import ScreenApp

MOST_RUNS_SHOWN = 20
LEAVE = "leave; nothing of this run is kept"
INVENTED = "All of them are invented. What you do here never lies among the sessions."
HOW = (
    "Ask the questions before testing, do the tests you want, and commit to an answer. Only then "
    "do you see the answers of the case's author and of the program, and how well you measured."
)


class PracticeScreen(ListScreen[None]):
    """Lists the cases; Enter opens the story of one.

    Args:
        notice: A sentence about what just happened.
    """

    STOPPABLE = False
    CHOOSE = "open"

    def __init__(self, notice: str = "") -> None:
        super().__init__("Practice")
        self.said = notice
        self.cases: tuple[Case, ...] = ()
        self.runs: tuple[PracticeRun, ...] = ()
        self.problems: tuple[str, ...] = ()

    def on_mount(self) -> None:
        self._read()
        super().on_mount()

    def _read(self) -> None:
        controller = self.host.controller
        try:
            shipped, own = cases_folders(controller.store.folder)
            found = (
                *load_cases(shipped, controller.protocol),
                *load_cases(own, controller.protocol),
            )
            runs = RunStore(runs_folder(controller.store.folder)).list()
        except ScreenError as error:
            self.problems = (str(error),)
            return
        self.cases = tuple(one.case for one in found if one.case is not None)
        self.runs = tuple(one.run for one in runs if one.run is not None)
        self.problems = tuple(
            problem
            for problem in (*(one.problem for one in found), *(one.problem for one in runs))
            if problem
        )

    def lines(self) -> Sequence[Choice]:
        return tuple(Choice("", "", f"{one.title}: {self._so_far(one)}") for one in self.cases)

    def _so_far(self, case: Case) -> str:
        return runs_words([run for run in self.runs if run.case == case.id])

    def head(self) -> tuple[Row, Row]:
        return screen_head("Practice: simulated patients", f"{len(self.cases)} cases")

    def draw(self, width: int, height: int) -> Drawn:
        del height
        rows, focus = draw_lines(self.lines(), self.at, width)
        told = [INVENTED, *self.problems]
        rows += [line for text in told for line in (BLANK, *paragraph(text, width, "quiet"))]
        return Drawn(rows, focus if self.at < len(self.cases) - 1 else (focus[0], len(rows) - 1))

    def notice(self) -> str:
        return self.said

    def hints(self) -> Sequence[KeyHint]:
        return (*super().hints()[:2], KeyHint("p", "progress", 1), KeyHint("b", "start", 0))

    def take_key(self, key: str, event: events.Key) -> bool:
        self.said = ""
        if key in ("b", "q"):
            self.host.go_start()
        elif key == "p":
            self.host.push_screen(ProgressScreen(self.runs))
        else:
            return super().take_key(key, event)
        return True

    def choose(self) -> None:
        self.host.push_screen(StoryScreen(self.cases[self.at]), self._begin)

    def _begin(self, case: Case | None) -> None:
        if case is None:
            return
        host = self.host
        host.practising = Practising.begin(case, host.controller)
        host.controller = host.practising.controller
        host.go_before_testing(form_of(host.controller.protocol, case))


class StoryScreen(BaseScreen[Case | None]):
    """Tells who comes in; it is dismissed with the case, or with None."""

    STOPPABLE = False

    def __init__(self, case: Case) -> None:
        super().__init__()
        self.case = case

    def head(self) -> tuple[Row, Row]:
        return screen_head(self.case.title, self.case.patient.label)

    def draw(self, width: int, height: int) -> Drawn:
        del height
        story = paragraph(" ".join(self.case.story.split()), width)
        return Drawn([*story, BLANK, *paragraph(HOW, width, "quiet")])

    def hints(self) -> Sequence[KeyHint]:
        return KeyHint("Enter", "begin", 0), KeyHint("b", "another one", 0)

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        if key == "enter":
            self.dismiss(self.case)
        elif key in ("b", "backspace"):
            self.dismiss(None)
        else:
            return False
        return True


class ProgressScreen(BaseScreen[None]):
    """Shows how one gets on over the runs."""

    STOPPABLE = False

    def __init__(self, runs: Sequence[PracticeRun]) -> None:
        super().__init__()
        self.progress = progress_of(runs)

    def head(self) -> tuple[Row, Row]:
        return screen_head("Practice: progress")

    def draw(self, width: int, height: int) -> Drawn:
        del height
        return Drawn(draw_progress(self.progress, MOST_RUNS_SHOWN, width))

    def hints(self) -> Sequence[KeyHint]:
        return (KeyHint("b", "back", 0),)

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        if key in ("b", "enter", "backspace"):
            self.dismiss(None)
            return True
        return False


def ask_to_leave_practice(host: ScreenApp) -> None:
    """Ask first, since nothing of the run is kept."""

    def leave(answer: str | None) -> None:
        if answer is not None:
            host.go_practice("The practice run was left; nothing of it was kept.")

    question = Question(
        title="Leave the practice run",
        lead=("A practice run is kept once you have committed to an answer.",),
        answers=(LEAVE,),
        back="go on",
    )
    host.push_screen(AskDialog(question), leave)
