"""A practice run in hand; its session is held in memory alone, apart from the real ones."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from screen_tui.errors import SaveFailedError, ScreenError
from screen_tui.files.places import practice_runs_folder
from screen_tui.practice.case import Case, Interview
from screen_tui.practice.files import RunStore
from screen_tui.practice.run import Level, PracticeRun, finished_run, series_of
from screen_tui.practice.scoring import Commitment, Score, score
from screen_tui.practice.staging import Stage, asked_of, staged
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Client, Intake, Session
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import Answer
from screen_tui.trial.state import TrialState
from screen_tui.trial.view import TrialView
from screen_tui.tui.controller import SessionController
from screen_tui.tui.drawing.practice_run import Place, draw_practice_test, seen_of
from screen_tui.tui.drawing.rows import Row

MOST_SEEDS = 2**31


class PracticeController(SessionController):
    """Holds the session of a practice run in memory; what is saved is the run, once it is over.

    The real sessions that could not be saved are saved with it.

    Attributes:
        outside: What holds the real sessions.
        run: The run, once it is over.
    """

    def __init__(self, outside: SessionController, case: Case) -> None:
        super().__init__(outside.protocol, outside.store, outside.clock)
        self.outside = outside
        self.run: PracticeRun | None = None
        self.runs = RunStore(practice_runs_folder(outside.store.folder))
        self._patient = case.patient
        self._run_id = self.runs.new_id(outside.clock.wall())

    @property
    def trouble(self) -> str:
        return self.outside.trouble or super().trouble

    @property
    def lost(self) -> str:
        return self.outside.lost or super().lost

    @property
    def unsaved(self) -> tuple[Session, ...]:
        return self.outside.unsaved

    def begin(self, client: Client, intake: Intake, earlier: Session | None = None) -> None:
        del client, earlier
        self._take(
            Session(
                id=self._run_id,
                protocol=self.protocol.battery.id,
                protocol_digest=self.protocol.digest,
                started=self.clock.wall(),
                synthetic=True,
                client=self._patient,
                intake=intake,
            )
        )

    def let_go(self) -> None:
        self._session = None

    def save(self) -> bool:
        done, self.failure = self.outside.save(), None
        try:
            if self.run is not None:
                self.runs.save(self.run)
        except SaveFailedError as error:
            self.failure = error
        return done and self.saved

    def save_in(self, folder: Path) -> bool:
        done = self.outside.save_in(folder)
        self.store = self.outside.store
        self.runs = RunStore(practice_runs_folder(self.store.folder))
        return self.save() and done

    def close(self) -> None:
        self.outside.close()


@dataclass
class Practising:
    """One student with one simulated patient.

    Attributes:
        seed: What the small differences of the run follow from.
        place: From where the patient is looked at, where there is room for one picture.
    """

    case: Case
    seed: int
    controller: PracticeController
    interview: Interview
    level: Level = "words"
    student: str = ""
    place: Place = "front"
    _stage: Stage | None = None

    @classmethod
    def begin(
        cls, case: Case, outside: SessionController, level: Level = "words", student: str = ""
    ) -> Practising:
        """Begin a run, at the time the clock shows."""
        seed = int(outside.clock.wall().timestamp()) % MOST_SEEDS
        controller = PracticeController(outside, case)
        return cls(case, seed, controller, Interview(case), level, student)

    def commit(self, commitment: Commitment) -> Score:
        """Save the run, which is over now, and score it."""
        controller = self.controller
        session, now = controller.session, controller.clock.wall()
        scored = score(
            self.case, controller.protocol, self.seed, session, commitment, self.interview
        )
        try:
            before, _ = controller.runs.found()
        except ScreenError:
            before = ()  # saving into that folder says why
        controller.run = finished_run(
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
        controller.save()
        return scored

    # -- the patient in the trial at hand, as a student sees and asks them

    @property
    def asked(self) -> frozenset[str]:
        """The tests that are asked for from the start."""
        return asked_of(self.case, self.controller.protocol)

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
        """Ask them to begin."""
        self._stage = self.stage(trial).asked(self._now)

    def turn(self) -> None:
        """Look at them from the other side."""
        self.place = "side" if self.place == "front" else "front"

    def draw(self, trial: TrialState, view: TrialView, width: int, height: int) -> list[Row]:
        """Draw the trial with the patient beside the number."""
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
