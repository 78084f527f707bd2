"""What is being worked on: saved after every change, and held in memory when it cannot be.

It is a session, or the answers before testing as long as no session holds them. Nobody else has it
meanwhile: it is taken from the store when it is begun or resumed, and given back when it is left.
A session that could not be saved is never dropped for another: it waits in memory, and
each save tries it again.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from screen_tui.errors import SaveFailedError
from screen_tui.files.places import practice_runs_folder
from screen_tui.files.toml import TomlDocument, read_toml
from screen_tui.practice.files import RunStore
from screen_tui.practice.run import PracticeRun
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.draft import Draft
from screen_tui.session.file import check_against, session_in
from screen_tui.session.folder import (
    SessionSummary,
    folder_warnings,
    prior_visits,
    read_prior_visit,
    visits_back_from,
)
from screen_tui.session.model import Client, Intake, Session, Trial, label_key
from screen_tui.session.store import SessionStore
from screen_tui.timing.clock import Clock
from screen_tui.trial.battery import plan_battery
from screen_tui.trial.intake import IntakeForm, asking_less
from screen_tui.tui.draft import Waiting, check_of, draft_of, form_in
from screen_tui.tui.drawing.words import moved_to, what_became

ENDED_WITH_IT = "the program was ended"
"""Why a trial is void that was under way as the program ended in good order."""


class SessionController:
    """Holds one session at a time, or the answers that none holds yet, and saves them.

    Attributes:
        store: Where they are saved now.
        failure: Why something is not on disk; None when everything is.
        closed: Whether nothing of the session may change. A finished screen goes on when another
            test is done, until it is left; from then on it is only added to (`session.file`).
        answers: The answers in hand, as they are saved; None for none.
    """

    def __init__(self, protocol: ScreenProtocol, store: SessionStore, clock: Clock) -> None:
        self.protocol = protocol
        self.store = store
        self.clock = clock
        self.failure: SaveFailedError | None = None
        self.closed = False
        self.answers: Draft | None = None
        self._session: Session | None = None
        self._run: PracticeRun | None = None
        self._to_disk = True
        self._on_disk: Session | None = None
        self._earlier: tuple[Session, ...] = ()
        self._interrupted: Trial | None = None
        self._waiting: dict[str, Session] = {}
        self._check = check_of(protocol)
        self._answers_id = ""
        self._answers_on_disk: Draft | None = None
        self._answers_of: dict[str, str] = {}
        self._remark = ""
        self._warned_of_folder = False

    @property
    def session(self) -> Session:
        """The session in hand; a LookupError where none is."""
        if self._session is None:
            raise LookupError("no session is open")
        return self._session

    @property
    def is_open(self) -> bool:
        return self._session is not None

    @property
    def read_only(self) -> bool:
        """Whether the session is only shown: of a demo, or finished at an earlier time."""
        return self.closed and not self._to_disk

    @property
    def tests_possible(self) -> bool:
        """Whether a test may be done: none is once closed, after a referral or after a stop."""
        if self.closed or self.session.stopped:
            return False
        return bool(plan_battery(self.protocol, self.session.intake))

    @property
    def stoppable(self) -> bool:
        """Whether there is a screen that could be stopped for safety."""
        return self.is_open and not self.closed and not self.session.stopped

    @property
    def trouble(self) -> str:
        """Why the last change is not on disk; empty when it is."""
        return str(self.failure or "")

    @property
    def lost(self) -> str:
        """What to say once the program has ended; empty when everything is on disk."""
        if self.failure is None:
            return ""
        lost = "The program has ended, and all that was entered after the last save is lost."
        return f"{self.failure.why} {lost}"

    @property
    def saved(self) -> bool:
        """Whether nothing would be lost if the program ended now."""
        return self.failure is None

    @property
    def unsaved(self) -> tuple[Session, ...]:
        """Sessions that were left without being on disk as they are; see `resume`."""
        return tuple(self._waiting.values())

    @property
    def earlier_visits(self) -> tuple[Session, ...]:
        """What the session in hand follows, the newest first, as far as it can be read."""
        return self._earlier if self._session is not None and self._session.follows else ()

    @property
    def earlier(self) -> Session | None:
        """The session that the one in hand follows; None where it follows none that can be read."""
        return next(iter(self.earlier_visits), None)

    # Answers that no session holds yet.

    def answers_left(self) -> tuple[tuple[Waiting, ...], tuple[str, ...]]:
        """Answers that can be gone on with, and why others cannot."""
        found = self.store.drafts(self._check)
        in_a_session = self._answers_of.values()
        usable = (
            Waiting(one.id, form_in(self.protocol, one.draft), one.draft.begun, one.open_elsewhere)
            for one in found
            if one.draft and one.id not in in_a_session
        )
        return tuple(usable), tuple(one.problem for one in found if not one.draft)

    def go_on_with_answers(self, draft_id: str) -> IntakeForm:
        """Take answers up where they were left.

        Raises:
            ScreenError: Another window has them, or their file is gone or cannot be used.
        """
        self.let_go()
        self.answers = self._answers_on_disk = self.store.resume_draft(draft_id, self._check)
        self._answers_id = draft_id
        form = form_in(self.protocol, self.answers)
        return asking_less(self.protocol, form) if self.answers.follows else form

    @property
    def followed_by_answers(self) -> Session | None:
        """What the answers in hand re-test, or None; a ScreenError where it cannot be read."""
        follows = self._follows(None)
        return (
            read_prior_visit(follows, None, self.store.folder, self.protocol) if follows else None
        )

    @property
    def answers_saved(self) -> bool:
        return self.answers is self._answers_on_disk

    def keep_answers(self, form: IntakeForm, earlier: Session | None = None) -> None:
        """Write the answers of a form, which may be a re-test, where they have changed."""
        if not form.begun:
            self.forget_answers()
            return
        begun = self.answers.begun if self.answers else self._now()
        answers = draft_of(self.protocol, form, begun, self._follows(earlier))
        if answers != self.answers:
            self.answers = answers
        if self.failure or not self.answers_saved:
            self.save()

    def forget_answers(self) -> bool:
        """Remove the answers in hand; where their file stays, that is a remark, and False."""
        forgotten = not self._answers_id or self._remove(self._answers_id, self.store)
        self._drop_answers()
        if self.failure:
            self.save()
        return forgotten

    def _follows(self, earlier: Session | None) -> str:
        """What the answers in hand follow; where that could not be read, they know its id."""
        if earlier is not None:
            return earlier.id
        return self.answers.follows if self.answers else ""

    def _drop_answers(self) -> None:
        self.answers = self._answers_on_disk = None
        self._answers_id = ""

    def _save_answers(self) -> None:
        if self.answers is None or self.answers_saved:
            return
        try:
            self._answers_id = self._answers_id or self.store.begin_draft(self._check)
            done = self.store.save_draft(self._answers_id, self.answers)
        except SaveFailedError as error:
            self.failure = self.failure or error
            return
        self._answers_on_disk, self._answers_id = self.answers, done.path.stem
        self._say(what_became(done))

    def _forget_held(self, store: SessionStore) -> None:
        """Remove from a folder the answers that sessions on disk hold by now."""
        unsaved = {*self._waiting, *(one.id for one in self._in_hand if one is not self._on_disk)}
        for session_id in self._answers_of.keys() - unsaved:
            self._remove(self._answers_of.pop(session_id), store)

    def _remove(self, draft_id: str, store: SessionStore) -> bool:
        try:
            store.forget_draft(draft_id)
        except SaveFailedError as error:
            self._say(str(error))
            return False
        return True

    # The session.

    def begin(self, client: Client, intake: Intake, earlier: Session | None = None) -> None:
        """Start a session with its answers, as a re-test of an earlier one or not, and save it."""
        now = self._now()
        session = Session(
            id=self.store.begin(now),
            protocol=self.protocol.battery.id,
            protocol_digest=self.protocol.digest,
            started=now,
            follows=self._follows(earlier),
            client=client,
            intake=intake,
        )
        if self._answers_id:
            self._answers_of[session.id] = self._answers_id
        self._drop_answers()
        self._take(session, visits_back_from(earlier, self.store.folder, self.protocol))
        self.save()

    def resume(self, session_id: str) -> None:
        """Go on with an unfinished session; with one that could not be saved, as it is in memory.

        One that was finished is only shown, and other windows may have it meanwhile.

        Raises:
            ScreenError: Another window has it, or it is gone, broken, or does not fit the
                protocol. Whatever was open is let go either way.
        """
        self.let_go()
        waiting = self._waiting.pop(session_id, None)
        if waiting is not None:
            self._take(waiting, self._visits_before(waiting), closed=waiting.finished is not None)
            self.save()
            return
        session = self.store.resume(session_id, self._check_session)
        finished = session.finished is not None
        if finished:
            self.store.release(session_id)
        self._take(session, self._visits_before(session), closed=finished, to_disk=not finished)
        self._on_disk = session
        if finished:
            return
        if session.under_way is not None:
            self._interrupted = session.under_way
            if not session.full:
                self.change(session.with_trial(session.under_way))
        elif session.trials and session.trials[-1].void == ENDED_WITH_IT:
            self._interrupted = session.trials[-1]

    def open_demo(self, path: Path) -> None:
        """Show a finished session without ever writing it.

        Raises:
            ScreenError: It is broken or does not fit the protocol.
        """
        document = read_toml(path)
        session = session_in(document)
        self._check_session(session, document)
        self.show(session)

    def show(self, session: Session, earlier: Sequence[Session] = ()) -> None:
        """Show a session and those it follows, the newest first, without ever writing it."""
        self._take(session, earlier, closed=True, to_disk=False)

    def practise(self, session: Session) -> None:
        """Have a session that is changed like any other and never written."""
        self._take(session, to_disk=False)

    def save_run(self, run: PracticeRun) -> None:
        """Save a practice run, which is over; it is tried again as long as it is in hand."""
        self._run = run
        self.save()

    def let_go(self) -> None:
        """Have nothing in hand; an unsaved session waits in memory until it is saved."""
        if self._session is not None and self._to_disk:
            if self._session is self._on_disk:
                self.store.release(self._session.id)
            else:
                self._waiting[self._session.id] = self._session
        self._session = None
        self.closed = False
        if self._answers_id:
            self.store.release(self._answers_id)
        self._drop_answers()
        if self._run is not None:
            self._run = None
            self.save()

    # What becomes of the session.

    def change(self, session: Session) -> None:
        """Take what has become of the session, unless that is closed, and save it."""
        if not self.closed:
            self._session = session
            self.save()

    def add_trial(self, trial: Trial) -> None:
        timed = trial.model_copy(update={"recorded": self._now()})
        self.change(self.session.with_trial(timed))

    def change_answers(self, client: Client, intake: Intake) -> bool:
        """Take other answers to the questions before testing, and save; False where none changed.

        Answers to questions that are asked no more stay. Under another code it is nobody's retest.
        """
        before, follows = self.session.intake, self.session.follows
        intake = intake.model_copy(update=_of_other_questions(self.protocol, before, intake))
        if (client, intake) == (self.session.client, before):
            return False
        if self._earlier:
            same = label_key(client.label) == label_key(self._earlier[0].client.label)
            follows = self._earlier[0].id if same else ""
        update = {"client": client, "intake": intake, "follows": follows, "finished": None}
        self.change(self.session.model_copy(update=update))
        return True

    def mark_under_way(self, trial: Trial | None) -> None:
        """Have the file tell that a trial is under way, or that none is; and save."""
        if trial is None and (self.session.under_way is None or self.session.full):
            return  # where there is no place for what the program died in, it stays in the file
        update: dict[str, object] = {"under_way": None}
        if trial is not None:
            timed = trial.model_copy(update={"recorded": self._now()})
            # What the program dies in is only come back to in a screen that is not finished.
            update = {"under_way": timed, "finished": None}
        self.change(self.session.model_copy(update=update))

    def take_interrupted(self) -> Trial | None:
        """The trial that the program ended in, to be said once; None when there was none."""
        interrupted, self._interrupted = self._interrupted, None
        return interrupted

    def finish(self) -> None:
        if self.session.finished is None:
            self.change(self.session.model_copy(update={"finished": self._now()}))

    def save(self) -> bool:
        """Write all that is not on disk; `trouble` says why something could not be written."""
        self.failure = None
        self._save_sessions()
        self._forget_held(self.store)
        self._save_answers()
        self._save_run()
        return self.saved

    def _save_run(self) -> None:
        if self._run is None:
            return
        try:
            RunStore(practice_runs_folder(self.store.folder)).save(self._run)
        except SaveFailedError as error:
            self.failure = self.failure or error
        else:
            self._run = None

    def _save_sessions(self) -> None:
        for session in (*self.unsaved, *self._in_hand):
            try:
                done = self.store.save(session)
            except SaveFailedError as error:
                self.failure = error
                continue
            self._say(what_became(done))
            if session is not self._session:
                del self._waiting[session.id]
                self.store.release(session.id)
                continue
            self._on_disk = session
            if self.closed:
                self.store.release(session.id)
                self._to_disk = False

    @property
    def _in_hand(self) -> tuple[Session, ...]:
        """The session in hand, where it is one that is saved."""
        return (self._session,) if self._session and self._to_disk else ()

    def save_in(self, folder: Path) -> bool:
        """Save in another folder from now on; where that fails, the first one stays.

        It gives whether everything is saved now.
        """
        try:
            folder = folder.expanduser().absolute()
        except (RuntimeError, FileNotFoundError) as error:
            why = "The folder that the program was started in is gone."
            if isinstance(error, RuntimeError):
                why = f"{folder.parts[0]} names nobody on this computer."
            self.failure = SaveFailedError(why, "Type a whole path.")
            return False
        if _same_place(folder, self.store.folder):
            return self.save()
        before = self.store, dict(self._waiting), self._on_disk, self._to_disk
        self.store, self.failure = SessionStore(folder), None
        for session in (*self.unsaved, *self._in_hand):
            self.store.hold(session.id)
        self._save_sessions()
        if self.failure:
            # What reached the other folder before something failed is not on disk in this one.
            self.store.release_all()
            self.store, self._waiting, self._on_disk, self._to_disk = before
            return False
        store = before[0]
        self._forget_held(store)
        store.release_all()
        self._warned_of_folder = False
        self._say(moved_to(self.store.folder))
        self._answers_on_disk, self._answers_id = None, ""
        self._save_answers()
        self._save_run()
        return self.saved

    def close(self) -> None:
        """Let other windows have what was open here; the program ends."""
        self.store.release_all()

    def folder_warnings(self, found: Sequence[SessionSummary]) -> tuple[str, ...]:
        """What to say once about the folder of sessions, given what it holds."""
        if self._warned_of_folder:
            return ()
        self._warned_of_folder = True
        return folder_warnings(self.store.folder, found, self._now())

    def take_remark(self) -> str:
        """What is to be said once about where the session was saved; empty when nothing is."""
        remark, self._remark = self._remark, ""
        return remark

    def _say(self, remark: str) -> None:
        self._remark = f"{self._remark} {remark}".strip()

    def _take(
        self,
        session: Session,
        earlier: Sequence[Session] = (),
        *,
        closed: bool = False,
        to_disk: bool = True,
    ) -> None:
        self.let_go()
        self._session = session
        self._earlier = tuple(earlier)
        self.closed, self._to_disk = closed, to_disk

    def _visits_before(self, session: Session) -> tuple[Session, ...]:
        return prior_visits(session, self.store.folder, self.protocol).visits

    def _check_session(self, session: Session, document: TomlDocument) -> None:
        check_against(session, self.protocol, document)

    def _now(self) -> datetime:
        return self.clock.wall()


def _of_other_questions(
    protocol: ScreenProtocol, before: Intake, after: Intake
) -> dict[str, object]:
    """What changed answers do not tell: of questions asked no more, and what nobody noted."""
    asked = {question.id for question in protocol.history}
    gone = {name: one for name, one in before.history.items() if name not in asked}
    raised = {*before.cautions, *(one.caution for one in before.cleared)}
    unnoted = not before.safety_asked and set(after.safety_asked) <= raised
    return {
        "history": {**gone, **after.history},
        "safety_asked": () if unnoted else after.safety_asked,
    }


def _same_place(one: Path, other: Path) -> bool:
    """Whether two paths lead to one place; no, where a folder that one begins in is gone."""
    try:
        return os.path.realpath(one) == os.path.realpath(other)
    except FileNotFoundError:
        return False
