"""Practice: the simulated patients, the questions to one, the student's answer, and the scores."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from pydantic import ValidationError
from textual import events

from screen_tui.errors import ScreenError
from screen_tui.files.places import own_cases_folder, practice_cases_folder, practice_runs_folder
from screen_tui.practice.case import Case
from screen_tui.practice.commit_form import CommitForm
from screen_tui.practice.drawn import MOST_SEED, Difficulty, drawn_case
from screen_tui.practice.files import RunStore, load_practice
from screen_tui.practice.player import Timeline
from screen_tui.practice.run import Level, PracticeRun, ToDraw, patient_id, progress_of
from screen_tui.practice.score_report import (
    answers_document,
    progress_document,
    runs_words,
    scores_document,
)
from screen_tui.practice.scoring import Commitment
from screen_tui.practice.staging import chosen_in, played
from screen_tui.report.words import short_on
from screen_tui.session.model import Client, Trial
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import READY
from screen_tui.trial.intake_questions import Question as IntakeQuestion
from screen_tui.tui.drawing.document import draw_document
from screen_tui.tui.drawing.practice_run import draw_interview, draw_replay
from screen_tui.tui.drawing.rows import (
    BLANK,
    LINE,
    Choice,
    Row,
    Span,
    draw_lines,
    labelled,
    paragraph,
    stacked,
)
from screen_tui.tui.keys import KeyHint, digits
from screen_tui.tui.practising import Practising
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.before_testing import BeforeTestingScreen
from screen_tui.tui.screens.dialogs import AskDialog, Question, TypeInDialog
from screen_tui.tui.screens.list import ListScreen, keyed

INVENTED = "All of them are invented. What you do here is never among the sessions."
HOW = (
    "Ask the questions before testing, do the tests you want, and commit to an answer. Only then "
    "do you see the answers of the case's author and of the program, and how well you measured."
)


class PracticeScreen(ListScreen[None]):
    """Lists the cases; Enter opens the story of one.

    Attributes:
        level: What the student has to go by; that of the last run to begin with.
        student: The student's code, as preferred, or else that of the last run.
    """

    GUIDE = "practice"
    STOPPABLE = False
    does = "open"

    def __init__(self, notice: str = "") -> None:
        super().__init__("Practice")
        self.said = notice
        self.cases: tuple[Case | ToDraw, ...] = ()
        self.level: Level = "words"
        self.student = ""
        self.runs: tuple[PracticeRun, ...] = ()
        self.problems: tuple[str, ...] = ()

    def on_mount(self) -> None:
        self._read()
        super().on_mount()

    def _read(self) -> None:
        sessions = self.host.controller.store.folder
        self.student = self.host.preferred.now.student
        try:
            folders = practice_cases_folder(), own_cases_folder(sessions)
            found = load_practice(folders, self.host.protocol)
            self.runs, unusable = RunStore(practice_runs_folder(sessions)).found()
        except ScreenError as error:
            self.problems = (str(error),)
            return
        self.cases = found.patients
        self.problems = (*found.problems, *unusable)
        if self.runs:
            self.level = self.runs[-1].level
            self.student = self.student or self.runs[-1].student

    def lines(self) -> Sequence[Choice]:
        return tuple(Choice("", "", f"{one.title}: {self._so_far(one)}") for one in self.cases)

    def _so_far(self, case: Case | ToDraw) -> str:
        case_id = patient_id(case, self.host.protocol)
        mine = (run for run in self.runs if run.student == self.student)
        return runs_words([run for run in mine if run.case == case_id])

    def head(self) -> tuple[Row, Row]:
        code = f"code {self.student}" if self.student else "no student code"
        return screen_head("Practice", LEVELS[self.level], code)

    def draw(self, width: int, height: int) -> Drawn:
        rows, focus = draw_lines(self.lines(), self.at, width)
        rows += [BLANK, *paragraph(INVENTED, width, "quiet")]
        return Drawn(rows, focus if self.at < len(self.cases) - 1 else (focus[0], len(rows) - 1))

    def notice(self) -> str:
        count = len(self.problems)
        files = "1 file or folder" if count == 1 else f"{count} files or folders"
        unused = f"{files} cannot be used; f says why." if count else ""
        return f"{self.said} {unused}".strip()

    def hints(self) -> Sequence[KeyHint]:
        drivers = self.host.protocol.drivers
        return (
            *super().hints()[:2],
            *((KeyHint("n", "new patient", 0, self._ask_how_hard),) if drivers else ()),
            *((KeyHint("f", "unusable files", 0, self._show_unusable),) if self.problems else ()),
            KeyHint("v", "words or figure", 1, self._other_level),
            KeyHint("c", "student code", 1, self._ask_code),
            KeyHint("p", "progress", 1, self._show_progress),
            KeyHint("b", "start", 0, self.host.go_start, also=("q",)),
            KeyHint("?", "help", 3, self.host.show_help),
        )

    def take_key(self, key: str, event: events.Key) -> bool:
        self.said = ""
        return super().take_key(key, event)

    def choose(self) -> None:
        self._tell(self.cases[self.at])

    def _tell(self, case: Case | ToDraw) -> None:
        if isinstance(case, ToDraw):
            case = drawn_case(self.host.protocol, case.difficulty, case.seed)
        self.host.ask(
            StoryScreen(case),
            lambda case: self.host.begin_practice(case, self.level, self.student),
        )

    def _show_progress(self) -> None:
        document = progress_document(progress_of(self.runs, self.student))
        rows = partial(draw_document, self.host.protocol, document)
        self.host.push_screen(ReadScreen("Practice: progress", self.student, rows))

    def _show_unusable(self) -> None:
        def rows(width: int) -> list[Row]:
            return stacked([paragraph(text, width) for text in self.problems])

        self.host.push_screen(ReadScreen("Files that cannot be used", "", rows))

    def _other_level(self) -> None:
        self.level = "figure" if self.level == "words" else "words"

    def _ask_code(self) -> None:
        def take(code: str) -> None:
            self.student = code
            self.said = f"Code {code}. {self.host.prefer('student', code)}"

        self.host.ask(TypeInDialog("Student code", CODE, _why_no_code, 40), take)

    def _ask_how_hard(self) -> None:
        def take(answer: str) -> None:
            self._ask_seed(next(one for one, words in HOW_HARD.items() if words == answer))

        question = Question("New patient", (NEW,), tuple(HOW_HARD.values()))
        self.host.ask(AskDialog(question), take)

    def _ask_seed(self, difficulty: Difficulty) -> None:
        def take(answer: str) -> None:
            now = self.host.clock.wall()
            seed = now.microsecond if answer == ANYBODY else int(answer)
            self._tell(ToDraw(difficulty=difficulty, seed=seed))

        own = "type the seed you were given"
        question = Question("New patient", (SEED,), (ANYBODY,), own, refuse=_why_no_seed)
        self.host.ask(AskDialog(question), take)


def _why_no_seed(typed: str) -> str:
    whole = typed.isascii() and typed.isdecimal() and len(typed) <= 9
    fits = whole and int(typed) <= MOST_SEED
    return "" if fits else f"A seed is a whole number from 0 to {MOST_SEED}."


def _why_no_code(typed: str) -> str:
    try:
        Client(label=typed, age=30)
    except ValidationError:
        return "Up to 40 characters such as S-07; no name, no date, no number others could look up."
    return ""


LEVELS: Mapping[Level, str] = {"words": "words and figure", "figure": "figure only"}
CODE = "Your code as the teacher gave it, such as S-07; never a name. Runs handed in carry it."
NEW = "A patient is drawn; the driver is not shown. How plain shall it be?"
HOW_HARD: Mapping[Difficulty, str] = {
    "easy": "easy: one driver, and it shows",
    "middle": "middle: one driver, with signs as common as they are",
    "hard": "hard: two drivers, and not both of them may show",
}
SEED = "The same seed gives the same patient to everybody."
ANYBODY = "anybody"


class ReadScreen(BaseScreen[None]):
    """Something to read, drawn for a width."""

    GUIDE = "practice"
    STOPPABLE = False

    def __init__(self, title: str, right: str, rows: Callable[[int], list[Row]]) -> None:
        super().__init__()
        self.titles = (title, right)
        self.rows = rows

    def head(self) -> tuple[Row, Row]:
        return screen_head(*self.titles)

    def draw(self, width: int, height: int) -> Drawn:
        return Drawn(self.rows(width))

    def hints(self) -> Sequence[KeyHint]:
        return (KeyHint("b", "back", 0, self.go_back, also=("enter", "backspace")),)


class StoryScreen(BaseScreen[Case | None]):
    """Tells who comes in; it is dismissed with the case, or with None."""

    GUIDE = "practice"
    STOPPABLE = False

    def __init__(self, case: Case) -> None:
        super().__init__()
        self.case = case

    def head(self) -> tuple[Row, Row]:
        return screen_head(self.case.title, self.case.patient.label)

    def draw(self, width: int, height: int) -> Drawn:
        story = paragraph(" ".join(self.case.story.split()), width)
        return Drawn([*story, BLANK, *paragraph(HOW, width, "quiet")])

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("Enter", "begin", 0, lambda: self.dismiss(self.case)),
            KeyHint("b", "another one", 0, self.go_back, also=("backspace",)),
        )


ASK_FURTHER = "h"


class PracticeQuestionsScreen(BeforeTestingScreen):
    """The ordinary form; below it is what the patient says to the question that is open."""

    GUIDE = "practice"

    def __init__(self, form: IntakeForm, practising: Practising) -> None:
        super().__init__(form)
        self.practising = practising

    def on_mount(self) -> None:
        self._put(self.form.at)
        super().on_mount()

    def head(self) -> tuple[Row, Row]:
        left, right = super().head()
        return (*left, Span(", practice", "first")), right

    def draw(self, width: int, height: int) -> Drawn:
        heard = self.practising.interview.heard(self.form.at)
        cursor = None if self.field is None else self.field.cursor_position
        page = self.form.page()
        return Drawn(draw_interview(page, heard, width, height, cursor, self.tests))

    @property
    def chosen(self) -> frozenset[str]:
        return chosen_in(self.practising.case, self.host.protocol)

    def hints(self) -> Sequence[KeyHint]:
        more = (KeyHint(ASK_FURTHER, "hear more", 0),) if self._may_ask else ()
        return (*more, *super().hints())

    @property
    def _may_ask(self) -> bool:
        form = self.form
        if form.current.kind == "text" or not _is_put(form.current):
            return False
        return self.practising.interview.may_know_more(form.at)

    def take_key(self, key: str, event: events.Key) -> bool:
        if key == ASK_FURTHER and self._may_ask:
            interview = self.practising.interview
            self.practising.interview = interview.ask(self.form.at)
            return True
        return super().take_key(key, event)

    def _take(self, form: IntakeForm) -> None:
        super()._take(form)
        self._put(form.at)

    def _put(self, question: str) -> None:
        interview = self.practising.interview
        if _is_put(self.form.current) and not interview.heard(question):
            self.practising.interview = interview.ask(question)

    def _keep(self, form: IntakeForm) -> None:
        # What a simulated patient says is never written.
        self.said = ""

    def _begin(self, form: IntakeForm) -> None:
        _, intake = form.result()  # whom it is about, the case says
        self.practising.begin_tests(intake)

    def _silence(self) -> Sequence[KeyHint]:
        return ()  # what was not asked was not heard

    def _ask_to_leave(self) -> None:
        self.host.ask_to_leave_practice()


def _is_put(question: IntakeQuestion) -> bool:
    """Whether it is a question to the patient, and none to the student."""
    return question.id not in ("note", READY) and question.doubt is None and not question.clears


LOSE = "leave, and lose this run"


class RevealScreen(BaseScreen[None]):
    """Shows the answers, then the scores; the run is saved before that."""

    GUIDE = "practice"
    STOPPABLE = False

    def __init__(self, practising: Practising, commitment: Commitment) -> None:
        super().__init__()
        self.practising = practising
        self.commitment = commitment
        self.scored = practising.commit(commitment)
        self.saved_for_good = False
        self.page = 1

    def _save_for_good(self) -> None:
        """Save a run of a demonstration, which is thrown away, among the real ones too."""
        run = self.practising.run
        assert run is not None
        try:
            path = RunStore(practice_runs_folder()).save(run)
        except ScreenError as error:
            self.said = str(error)
            return
        self.saved_for_good, self.said = True, f"The run is in {path.parent} as well."

    def head(self) -> tuple[Row, Row]:
        title = "Answers" if self.page == 1 else "Scores"
        return screen_head(f"{title} {self.page}/2", self.practising.case.title)

    def draw(self, width: int, height: int) -> Drawn:
        protocol, case = self.practising.controller.protocol, self.practising.case
        of = (protocol, case, self.commitment, self.scored)
        if self.page == 1:
            document = answers_document(*of)
        else:
            document = scores_document(*of, self.practising.level)
        return Drawn(draw_document(protocol, document, width))

    def hints(self) -> Sequence[KeyHint]:
        controller = self.practising.controller
        again = () if controller.saved else (KeyHint("s", "save again", 0, controller.save),)
        if self.page == 1:
            return (*again, KeyHint("Enter", "scores", 0, lambda: self._turn(2)))
        watch = KeyHint("r", "replay", 0, lambda: self.host.push_screen(self._replay()))
        for_good = self.host.demo_folder is not None and not self.saved_for_good
        return (
            *again,
            KeyHint("Enter", "cases", 0, self._leave),
            *((KeyHint("f", "save for good", 1, self._save_for_good),) if for_good else ()),
            *((watch,) if controller.session.trials else ()),
            KeyHint("b", "answers", 0, lambda: self._turn(1)),
        )

    def _leave(self) -> None:
        controller = self.practising.controller
        if controller.save():
            self.host.go_practice("The run is saved; p shows how you get on.")
            return
        question = Question("NOT SAVED", (controller.trouble,), (LOSE,), back="back to the scores")
        lost = "The run was not saved."
        self.host.ask(AskDialog(question), lambda _: self.host.go_practice(lost))

    def _replay(self) -> ReplayScreen:
        run = self.practising
        trials = played(run.case, run.controller.protocol, run.controller.session, run.seed)
        return ReplayScreen([(trial, done) for trial, done in trials if done is not None])

    def _turn(self, page: int) -> None:
        self.page = page
        self.scroll("home")


KEYS = "123456789acdefgilmnoprstuvwxyz"
LAST_WORD = (
    "Enter commits to this. After that nothing can be changed, and the answers of the case's "
    "author and of the program are shown. Backspace goes back."
)


class CommitScreen(ListScreen[None]):
    """Draws the form and lists the options of the open question; committing is a key of its own."""

    GUIDE = "practice"
    STOPPABLE = False

    def __init__(self, practising: Practising) -> None:
        super().__init__("Your answer")
        self.practising = practising
        self.form = CommitForm(practising.controller.protocol)

    def head(self) -> tuple[Row, Row]:
        count = len(self.form.steps)
        place = f"{min(self.form.at + 1, count)} of {count}"
        return screen_head(self.heading, place, self.practising.case.patient.label)

    def lines(self) -> Sequence[Choice]:
        step = self.form.step
        if step is None:
            return ()
        on = self.form.answers.get(step.id, ())
        return [
            Choice("", key, f"[{'x' if option in on else ' '}] {label}" if step.several else label)
            for key, (option, label) in keyed(step.options, KEYS)
        ]

    def draw(self, width: int, height: int) -> Drawn:
        rows: list[Row] = []
        for step in self.form.steps[: self.form.at]:
            rows += labelled(step.short, "; ".join(self.form.chosen(step)) or "nothing", width)
        begins = len(rows)
        rows += [BLANK] if rows else []
        if self.form.step is None:
            rows += paragraph(LAST_WORD, width, "second")
            return Drawn(rows, (begins, len(rows) - 1))
        rows += paragraph(self.form.step.text, width, "strong")
        options, (first, last) = draw_lines(self.lines(), self.at, width)
        # The question itself stays in sight as long as the mark is near it.
        first = len(rows) + first if self.at else begins
        return Drawn([*rows, *options], (first, len(rows) + last))

    def hints(self) -> Sequence[KeyHint]:
        step, back = self.form.step, KeyHint("Backspace", "back", 0, lambda: self._next(-1))
        if step is None:
            return (KeyHint("Enter", "commit", 0, self._commit), back)
        to_tests = self.form.at == 0 and self.practising.controller.tests_possible
        ways = (
            *((back,) if self.form.at else ()),
            *((KeyHint("b", "tests", 0, self.host.go_test),) if to_tests else ()),
            KeyHint("q", "leave", 2, self.host.ask_to_leave_practice),
        )
        move = KeyHint("↑↓", "move", 1)
        if step.several:
            return (KeyHint("Space", "mark", 0), KeyHint("Enter", "next", 0), move, *ways)
        choose = KeyHint(digits(min(len(step.options), 9)), "choose", 0)
        return (choose, KeyHint("Enter", "choose", 1), move, *ways)

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(LINE):
            self.at = int(press.removeprefix(LINE))
            self.choose()
            self.redraw()
        else:
            super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        step = self.form.step
        if step is not None and key == "space":
            self.choose()
        elif step is not None and step.several and key == "enter":
            self._next()
        else:
            return super().take_key(key, event)
        return True

    def choose(self) -> None:
        self._take(self.form.choose(self.at))

    def _next(self, by: int = 1) -> None:
        self._take(self.form.next(by))

    def _take(self, form: CommitForm) -> None:
        step, before, self.form = form.step, self.form, form
        if step is not None and form.at != before.at:
            on = form.answers.get(step.id, ())
            marked = (place for place, (option, _) in enumerate(step.options) if option in on)
            self.at = next(marked, 0)

    def _commit(self) -> None:
        self.host.switch_screen(RevealScreen(self.practising, self.form.result()))


TICK_S, JUMP_S = 0.1, 2.0
AFTER_S = 1.0
"""Seconds the end of a trial stays in sight."""


class ReplayScreen(BaseScreen[None]):
    """Plays one trial after the other; Space halts, the arrows go to and fro in it."""

    GUIDE = "practice"
    STOPPABLE = False

    def __init__(self, replays: Sequence[tuple[Trial, Timeline]]) -> None:
        super().__init__()
        self.replays = tuple(replays)
        self.at = 0
        self.t = 0.0
        self.halted = False
        self._last: float | None = None

    def on_mount(self) -> None:
        super().on_mount()
        self.set_interval(TICK_S, self.tick)

    def tick(self) -> None:
        now = self.host.clock.monotonic()
        passed = 0.0 if self._last is None else now - self._last
        self._last = now
        if self.halted or not self.replays or not passed:
            return
        self.t = min(self.t + passed, self._end)
        self.redraw()

    @property
    def _end(self) -> float:
        return self.replays[self.at][1].over_s + AFTER_S

    def head(self) -> tuple[Row, Row]:
        count = f"{self.at + 1} of {len(self.replays)}" if self.replays else ""
        return screen_head("Replay", count)

    def draw(self, width: int, height: int) -> Drawn:
        if not self.replays:
            return Drawn(paragraph("No trial of this run was part of the case.", width))
        trial, timeline = self.replays[self.at]
        protocol = self.host.protocol
        name = short_on(protocol, trial.test, trial.side)
        cue = f", with a cue: {trial.cue.replace('-', ' ')}" if trial.cue else ""
        title = paragraph(f"{name}{cue}", width, "strong")
        return Drawn([*title, *draw_replay(protocol, trial, timeline, self.t, width)])

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("Space", "continue" if self.halted else "halt", 0, self._halt),
            KeyHint("n", "next trial", 0, lambda: self._go(1), also=("enter",)),
            KeyHint("p", "trial before", 1, lambda: self._go(-1)),
            KeyHint("→", "2 s on", 1, lambda: self._jump(JUMP_S), also=("right",)),
            KeyHint("←", "2 s back", 1, lambda: self._jump(-JUMP_S), also=("left",)),
            KeyHint("b", "scores", 0, self.go_back, also=("backspace",)),
        )

    def _halt(self) -> None:
        self.halted = not self.halted

    def _jump(self, by: float) -> None:
        if self.replays:
            self.t = min(max(self.t + by, 0.0), self._end)

    def _go(self, by: int) -> None:
        if self.replays:
            self.at, self.t = (self.at + by) % len(self.replays), 0.0
