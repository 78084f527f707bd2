"""A practice run in hand; its session is held in memory alone."""

from __future__ import annotations

from dataclasses import dataclass, replace

from screen_tui.errors import ScreenError
from screen_tui.files.places import practice_runs_folder
from screen_tui.practice.case import Case, Interview
from screen_tui.practice.files import RunStore
from screen_tui.practice.run import Level, PracticeRun, finished_run, series_of
from screen_tui.practice.scoring import Commitment, Score, score
from screen_tui.practice.staging import Stage, chosen_in, staged
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Intake, Session
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import Answer
from screen_tui.trial.state import TrialState
from screen_tui.trial.view import TrialView
from screen_tui.tui.controller import SessionController
from screen_tui.tui.drawing.practice_run import Place, draw_practice_test, seen_of
from screen_tui.tui.drawing.rows import Row

MOST_SEEDS = 2**31


@dataclass
class Practising:
    """One student with one simulated patient.

    Attributes:
        seed: What the small differences of the run follow from.
        run: Its record, once it is over.
        place: From where the patient is looked at, where there is room for one picture.
    """

    case: Case
    seed: int
    run_id: str
    controller: SessionController
    interview: Interview
    level: Level = "words"
    student: str = ""
    place: Place = "front"
    run: PracticeRun | None = None
    _stage: Stage | None = None

    @classmethod
    def begin(
        cls, case: Case, controller: SessionController, level: Level = "words", student: str = ""
    ) -> Practising:
        now = controller.clock.wall()
        runs = RunStore(practice_runs_folder(controller.store.folder))
        seed, run_id = int(now.timestamp()) % MOST_SEEDS, runs.new_id(now)
        return cls(case, seed, run_id, controller, Interview(case), level, student)

    def begin_tests(self, intake: Intake) -> None:
        self.controller.practise(
            Session(
                id=self.run_id,
                protocol=self.controller.protocol.battery.id,
                protocol_digest=self.controller.protocol.digest,
                started=self.controller.clock.wall(),
                synthetic=True,
                client=self.case.patient,
                intake=intake,
            )
        )

    def commit(self, commitment: Commitment) -> Score:
        """Save the run, which is over now, and score it."""
        controller = self.controller
        session, now = controller.session, controller.clock.wall()
        scored = score(
            self.case, controller.protocol, self.seed, session, commitment, self.interview
        )
        try:
            before, _ = RunStore(practice_runs_folder(controller.store.folder)).found()
        except ScreenError:
            before = ()  # saving into that folder says why
        self.run = finished_run(
            self.case,
            self.seed,
            session,
            self.interview,
            commitment,
            scored,
            now,
            self.student,
            self.level,
            series_of(before, self.student),
        )
        controller.save_run(self.run)
        return scored

    # -- the patient in the trial at hand, as a student sees and asks them

    @property
    def chosen(self) -> frozenset[str]:
        """The tests that are asked for from the start."""
        return chosen_in(self.case, self.controller.protocol)

    def at_trial(self, trial: TrialState) -> TrialState:
        """Begin anew with a trial; a patient who begins by themselves is not counted in."""
        self._stage = None
        return replace(trial, count_in=0.0) if trial.spec.timer.patient_starts else trial

    def stage(self, trial: TrialState) -> Stage:
        """What they do in a trial, the same one as long as it is the same trial."""
        controller = self.controller
        self._stage = staged(
            self._stage,
            self.case,
            controller.protocol,
            controller.session,
            trial,
            self.seed,
            self._now,
        )
        return self._stage

    def can_be_asked(self, trial: TrialState) -> bool:
        """Whether Space asks them to begin."""
        return self.stage(trial).can_be_asked(trial, self._now)

    def ask(self, trial: TrialState) -> None:
        self._stage = self.stage(trial).asked(self._now)

    def turn(self) -> None:
        """Look at them from the other side."""
        self.place = "side" if self.place == "front" else "front"

    def draw(self, trial: TrialState, view: TrialView, width: int, height: int) -> list[Row]:
        stage, now = self.stage(trial), self._now
        seen = seen_of(
            stage.frame(trial, now),
            self.place,
            width,
            labels={field.id: field.label for field in trial.spec.timer.numbers},
            pain=stage.pain(trial, now) if trial.prompt == "pain" else None,
            in_words=self.level == "words",
            ended=trial.ended,
        )
        return draw_practice_test(view, seen, width, height)

    @property
    def _now(self) -> float:
        return self.controller.clock.monotonic()


def form_of_case(protocol: ScreenProtocol, case: Case) -> IntakeForm:
    """The questions before testing, with what is known of the patient filled in."""
    known = case.patient
    numbers = {"age": known.age, "height_cm": known.height_cm, "mass_kg": known.mass_kg}
    given: dict[str, Answer] = {"label": known.label, "sex": known.sex}
    given |= {name: f"{number:g}" for name, number in numbers.items() if number is not None}
    blank = IntakeForm.blank(protocol)
    asked = {question.id for question in blank.questions}
    answers = {name: answer for name, answer in given.items() if name in asked}
    return IntakeForm.restored(protocol, answers, (), blank.at)
