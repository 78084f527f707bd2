"""The session being worked on: saved after every change, and held in memory when it cannot be.

Nobody else has it meanwhile: it is taken from the store when it is begun or resumed, and given back
when it is left. One that could not be saved is never dropped for another: it waits in memory, and
each save tries it again.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from screen_tui.errors import SaveFailedError, ScreenError
from screen_tui.files.places import practice_runs_folder
from screen_tui.files.toml import read_toml
from screen_tui.practice.files import RunStore
from screen_tui.practice.run import PracticeRun
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.file import check_against, session_in
from screen_tui.session.folder import (
    SessionSummary,
    folder_warnings,
    prior_visit,
    read_prior_visit,
    visits_back_from,
)
from screen_tui.session.model import (
    AS_USUAL,
    Client,
    Intake,
    PlanEdit,
    Session,
    Skip,
    Trial,
    answered_again,
    label_key,
)
from screen_tui.session.store import SessionStore
from screen_tui.timing.clock import Clock
from screen_tui.trial.battery import plan_battery
from screen_tui.trial.set_up import Said
from screen_tui.tui.draft import DraftController
from screen_tui.tui.drawing.words import moved_to, what_became

ENDED_WITH_IT = "the program was ended"
"""Why a trial is void that was under way as the program ended in good order."""


class SessionController:
    """Holds one session at a time and saves it.

    Attributes:
        store: Where sessions are saved now.
        failure: The last save, where it failed.
        draft: Holds the answers of somebody who has no session yet.
        read_only: The session is shown and never saved: of a demo, or finished at an earlier time.
    """

    def __init__(self, protocol: ScreenProtocol, store: SessionStore, clock: Clock) -> None:
        self.protocol = protocol
        self.store = store
        self.failure: SaveFailedError | None = None
        self.clock = clock
        self.draft = DraftController(protocol, store.folder, clock)
        self.read_only = False
        self._in_memory = False
        self._run: PracticeRun | None = None
        self._session: Session | None = None
        self._left_finished = False
        self._on_disk: Session | None = None
        self._earlier: Session | None = None
        self._visits_before: tuple[Session, ...] = ()
        self._interrupted: Trial | None = None
        self._waiting: dict[str, Session] = {}
        self._remark = ""
        self._warned_of_folder = False

    @property
    def session(self) -> Session:
        """The session.

        Raises:
            LookupError: None is open.
        """
        if self._session is None:
            raise LookupError("no session is open")
        return self._session

    @property
    def is_open(self) -> bool:
        return self._session is not None

    @property
    def closed(self) -> bool:
        """Whether nothing of the session may change.

        A finished screen goes on when another test is done, until it is left; from then on it is
        only added to (`session.file`).
        """
        return self.read_only or self._left_finished

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
        return str(self.failure or "") or self.draft.trouble

    @property
    def lost(self) -> str:
        """What to say once the program has ended; empty when everything is on disk."""
        failure = self.failure or self.draft.failure
        if failure is None:
            return ""
        lost = "The program has ended, and all that was entered after the last save is lost."
        return f"{failure.why} {lost}"

    @property
    def saved(self) -> bool:
        """Whether nothing would be lost if the program ended now."""
        return not self.trouble

    @property
    def _is_to_be_saved(self) -> bool:
        return not (self.read_only or self._in_memory)

    @property
    def unsaved(self) -> tuple[Session, ...]:
        """Sessions that were left without being on disk as they are; see `resume`."""
        return tuple(self._waiting.values())

    @property
    def earlier(self) -> Session | None:
        """The session that the one in hand follows; None where it follows none that can be read."""
        return self._earlier if self._session is not None and self._session.follows else None

    @property
    def earlier_visits(self) -> tuple[Session, ...]:
        """That session, the one it follows in its turn, and so on, as far as they can be read."""
        if self.earlier is not None and self._visits_before[:1] == (self.earlier,):
            return self._visits_before
        return visits_back_from(self.earlier, self.store.folder, self.protocol)

    @property
    def followed_by_answers(self) -> Session | None:
        """The session that the answers in hand are a re-test of; None where they are of none.

        Raises:
            ScreenError: It cannot be read.
        """
        follows = self.draft.follows
        return (
            read_prior_visit(follows, None, self.store.folder, self.protocol) if follows else None
        )

    def begin(self, client: Client, intake: Intake, earlier: Session | None = None) -> None:
        """Start a session with its answers, as a re-test of an earlier one or not, and save it.

        Where the earlier one could not be read, the answers know its id.
        """
        now = self.clock.wall()
        follows = self.draft.follows if earlier is None else earlier.id
        self.draft.hand_over()
        self._take(
            Session(
                id=self.store.begin(now),
                protocol=self.protocol.battery.id,
                protocol_digest=self.protocol.digest,
                started=now,
                follows=follows,
                client=client,
                intake=intake,
            )
        )
        self._earlier = earlier
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
            self._take(waiting)
            self._left_finished = self.session.finished is not None
            self._earlier = prior_visit(waiting, self.store.folder, self.protocol)
            self.save()
            return
        session = self.store.resume(session_id)
        try:
            document = read_toml(self.store.path_of(session_id))
            check_against(session, self.protocol, document)
        except ScreenError:
            self.store.release(session_id)
            raise
        if session.finished is not None:
            self.store.release(session_id)
        self._take(session, read_only=session.finished is not None)
        self._on_disk = session
        self._earlier = prior_visit(session, self.store.folder, self.protocol)
        if self.read_only:
            return
        if session.under_way is not None:
            self._interrupted = session.under_way
            if not session.full:
                self._change(session.with_trial(session.under_way))
        elif session.trials and session.trials[-1].void == ENDED_WITH_IT:
            self._interrupted = session.trials[-1]

    def open_demo(self, path: Path) -> None:
        """Show a finished session without ever writing it.

        Raises:
            ScreenError: It is broken or does not fit the protocol.
        """
        document = read_toml(path)
        session = session_in(document)
        check_against(session, self.protocol, document)
        self.show(session)

    def show(self, session: Session, earlier: Sequence[Session] = ()) -> None:
        """Show a session and those it follows, the newest first, without ever writing it."""
        self._take(session, read_only=True)
        self._earlier = earlier[0] if earlier else None
        self._visits_before = tuple(earlier)

    def practise(self, session: Session) -> None:
        """Have a session that is changed like any other and never written."""
        self._take(session)
        self._in_memory = True

    def save_run(self, run: PracticeRun) -> None:
        """Save a practice run, which is over; it is tried again as long as it is in hand."""
        self._run = run
        self.save()

    def let_go(self) -> None:
        """Have no session open; an unsaved one waits in memory until it is saved."""
        if self._session is not None and self._is_to_be_saved:
            if self._session is self._on_disk:
                self.store.release(self._session.id)
            else:
                self._waiting[self._session.id] = self._session
        self._session = None
        self.read_only = self._left_finished = self._in_memory = False
        if self._run is not None:
            self._run = None
            self.save()

    def add_trial(self, trial: Trial) -> None:
        timed = trial.model_copy(update={"recorded": self._now()})
        self._change(_open_again(self.session).with_trial(timed))

    def answer_again(self, caution: str, because: str, *, yes: bool) -> None:
        """Take the answer to a safety question that was asked once more, and save."""
        when = self._now().date().isoformat()
        intake = answered_again(self.session.intake, caution, yes=yes, when=when, because=because)
        self._change(self.session.model_copy(update={"intake": intake}))

    def change_answers(self, client: Client, intake: Intake) -> bool:
        """Take other answers to the questions before testing, and save; False where none changed.

        Answers to questions that are asked no more stay. Under another code it is nobody's retest.
        """
        before, follows = self.session.intake, self.session.follows
        intake = intake.model_copy(update=_of_other_questions(self.protocol, before, intake))
        if (client, intake) == (self.session.client, before):
            return False
        if self._earlier is not None:
            same = label_key(client.label) == label_key(self._earlier.client.label)
            follows = self._earlier.id if same else ""
        update = {"client": client, "intake": intake, "follows": follows}
        self._change(_open_again(self.session).model_copy(update=update))
        return True

    def edit_plan(self, edit: PlanEdit) -> None:
        self._change(self.session.model_copy(update={"plan": edit}))

    def mark_under_way(self, trial: Trial | None) -> None:
        """Have the file tell that a trial is under way, or that none is; and save."""
        if trial is None and (self.session.under_way is None or self.session.full):
            return  # where there is no place for what the program died in, it stays in the file
        marked = trial and trial.model_copy(update={"recorded": self._now()})
        # A trial that the program dies in is only come back to in a screen that is not finished.
        session = _open_again(self.session) if trial else self.session
        self._change(session.model_copy(update={"under_way": marked}))

    @property
    def noted(self) -> Said:
        """What was said on the set-up of tests, which is newer than what trials say."""
        said = self.session.set_up_said
        return {name: None if value == AS_USUAL else value for name, value in said.items()}

    def note_set_up(self, said: Said) -> None:
        """Note how the trials that follow are set up, and save; None takes a note back."""
        words = {name: AS_USUAL if value is None else value for name, value in said.items()}
        all_said = {**self.session.set_up_said, **words}
        self._change(self.session.model_copy(update={"set_up_said": all_said}))

    def take_interrupted(self) -> Trial | None:
        """The trial that the program ended in, to be said once; None when there was none."""
        interrupted, self._interrupted = self._interrupted, None
        return interrupted

    def amend_trial(self, place: int, trial: Trial) -> None:
        self._change(_open_again(self.session).with_trial_amended(place, trial))

    def skip(self, skip: Skip) -> None:
        self._change(_open_again(self.session).with_skip(skip))

    def stop(self, reason: str) -> None:
        self._change(self.session.model_copy(update={"stopped": reason}))

    def finish(self) -> None:
        if self.session.finished is None:
            self._change(self.session.model_copy(update={"finished": self._now()}))

    def save(self) -> bool:
        """Write the session; the sentence in `trouble` says why when it could not be written.

        Sessions that were left unsaved are written with it.
        """
        done = self._save_all() and self._save_run()
        if self._session is not None and self._session is self._on_disk:
            self._forget_answers()
        return done

    def _save_run(self) -> bool:
        if self._run is not None:
            try:
                RunStore(practice_runs_folder(self.store.folder)).save(self._run)
            except SaveFailedError as error:
                self.failure = error
                return False
            self._run = None
        return True

    def _save_all(self) -> bool:
        if self.draft.trouble:
            self.draft.try_again()
        self.failure = None
        for session in self.unsaved:
            if self._save(session):
                del self._waiting[session.id]
                self.store.release(session.id)
        if self._session is not None and self._is_to_be_saved and self._save(self._session):
            self._on_disk = self._session
            if self._left_finished:
                self.store.release(self._session.id)
                self.read_only = True
        return self.failure is None

    def _save(self, session: Session) -> bool:
        try:
            done = self.store.save(session)
        except SaveFailedError as error:
            self.failure = error
            return False
        self._say(what_became(done))
        return True

    def _forget_answers(self) -> None:
        """Remove the answers that a session holds by now."""
        try:
            self.draft.session_saved()
        except SaveFailedError as error:
            self._say(str(error))

    def save_in(self, folder: Path) -> bool:
        """Save in another folder from now on; where that fails, the first one stays.

        Returns:
            Whether everything is saved now.
        """
        try:
            folder = folder.expanduser().absolute()
        except (RuntimeError, FileNotFoundError) as error:
            why = "The folder that the program was started in is gone."
            if isinstance(error, RuntimeError):
                why = f"{folder.parts[0]} names nobody on this computer."
            self.failure = SaveFailedError(why, "Type a whole path.")
            return False
        store, waiting = self.store, dict(self._waiting)
        on_disk, read_only = self._on_disk, self.read_only
        if not _same_place(folder, store.folder):
            self.store = SessionStore(folder)
            for session in (*self.unsaved, *((self._session,) if self._session else ())):
                self.store.hold(session.id)
        moved = self.store is not store
        if not self._save_all():
            # What reached the other folder before something failed is not on disk in this one.
            self._on_disk, self.read_only = on_disk, read_only
            if moved:
                self.store.release_all()
                self.store, self._waiting = store, waiting
            return False
        if moved:
            store.release_all()
            self._warned_of_folder = False
            self._say(moved_to(self.store.folder))
        self._forget_answers()
        if moved:
            self.draft.move_to(self.store.folder)
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

    def _take(self, session: Session, *, read_only: bool = False) -> None:
        self.let_go()
        self._session = session
        self.read_only = read_only
        self._earlier = None

    def _change(self, session: Session) -> None:
        if not self.closed:
            self._session = session
            self.save()

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


def _open_again(session: Session) -> Session:
    """A session whose note was written goes on when another test is done before it is left."""
    return session.model_copy(update={"finished": None})
