"""The session being worked on: saved after every change, and kept in memory when it cannot be."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from screen_tui.clock import Clock
from screen_tui.errors import SaveFailedError
from screen_tui.flow.battery import plan_battery
from screen_tui.flow.intake import IntakeForm
from screen_tui.flow.set_up import Said
from screen_tui.protocol.base import Goal
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Client, Intake, Session, Skip, Trial
from screen_tui.session.sessionfile import check_against, session_in
from screen_tui.session.store import SessionStore
from screen_tui.tomlfile import read_toml
from screen_tui.tui.answers import AnswerKeeper

_ALL_GOALS: tuple[Goal, ...] = ("walking", "chair", "floor", "stairs")


class Keeper:
    """Holds one session at a time and saves it.

    Attributes:
        store: Where it is saved.
        answers: Holds the answers of somebody who has no session yet.
        read_only: A demo session is shown and never saved.
        noted: What was said on the set-up of tests and is not in a trial yet.
        remark: Something to know about where it was saved; empty otherwise.
        since: Monotonic seconds at which the session in hand was begun or gone on with.
    """

    def __init__(self, protocol: Protocol, store: SessionStore, clock: Clock) -> None:
        self.protocol = protocol
        self.store = store
        self.clock = clock
        self.answers = AnswerKeeper(protocol, store.folder, clock)
        self.read_only = False
        self.noted: Said = {}
        self.since = clock.monotonic()
        self.remark = ""
        self._session: Session | None = None
        self._trouble = ""

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
    def tests_possible(self) -> bool:
        """Whether a test may be done: none is in a demo, after a referral or after a stop."""
        if self.read_only or self.session.stopped:
            return False
        return bool(plan_battery(self.protocol, self.session.intake))

    @property
    def stoppable(self) -> bool:
        """Whether there is a screen that could be stopped for safety."""
        return self._session is not None and not self.read_only and not self._session.stopped

    @property
    def trouble(self) -> str:
        """Why the last change is not on disk; empty when it is."""
        return self._trouble or self.answers.trouble

    @property
    def saved(self) -> bool:
        """Whether nothing would be lost if the program ended now."""
        return not self.trouble

    def begin(self, client: Client, intake: Intake) -> None:
        """Start a session with its answers, and save it."""
        now = self.clock.wall()
        self.answers.hand_over()
        self._take(
            Session(
                id=self.store.new_id(now),
                protocol=self.protocol.battery.id,
                protocol_digest=self.protocol.digest,
                started=now,
                client=client,
                intake=intake,
            )
        )
        self.save()

    def resume(self, session_id: str) -> None:
        """Go on with an unfinished session.

        Raises:
            ScreenError: It is gone, broken, or does not fit the protocol; nothing has changed.
        """
        check_against(
            self.store.load(session_id),
            self.protocol,
            read_toml(self.store.path_of(session_id)),
        )
        self._take(self.store.load(session_id))

    def open_demo(self, path: Path) -> None:
        """Show a finished session without ever writing it.

        Raises:
            ScreenError: It is broken or does not fit the protocol.
        """
        document = read_toml(path)
        session = session_in(document)
        check_against(session, self.protocol, document)
        self._take(session, read_only=True)

    def let_go(self) -> None:
        """Have no session open; an unsaved one is kept until it is saved."""
        if not self._trouble:
            self._session = None
            self.read_only = False

    def keep_trial(self, trial: Trial) -> None:
        """Add a trial with the time of day, and save."""
        kept = trial.model_copy(update={"recorded": self._now()})
        self._change(_open_again(self.session).with_trial(kept))

    def amend_trial(self, place: int, trial: Trial) -> None:
        """Put a kept trial in its amended form, and save.

        Raises:
            IndexError: There is no trial at that place.
        """
        self._change(_open_again(self.session).with_trial_amended(place, trial))

    def skip(self, skip: Skip) -> None:
        """Note a test as not done, and save."""
        self._change(_open_again(self.session).with_skip(skip))

    def stop(self, reason: str) -> None:
        """Note that the whole screen was stopped for safety, and save."""
        self._change(self.session.model_copy(update={"stopped": reason}))

    def finish(self) -> None:
        """Note the end of the screen, and save."""
        if self.session.finished is None:
            self._change(self.session.model_copy(update={"finished": self._now()}))

    def save(self) -> bool:
        """Write the session; the sentence in `trouble` says why when it could not be written."""
        if self.answers.trouble:
            self.answers.try_again()
        if self._session is None or self.read_only:
            return True
        try:
            done = self.store.save(self._session)
        except SaveFailedError as error:
            self._trouble = str(error)
            return False
        self._trouble = ""
        if done.kept_beside is not None:
            self.remark = (
                f"{done.kept_beside.name} was changed by another program and is left as it is; "
                f"this session goes on in {done.path.name}."
            )
        try:
            self.answers.session_saved()
        except SaveFailedError as error:
            self.remark = str(error)
        return True

    def save_in(self, folder: Path) -> bool:
        """Save in another folder from now on; where that fails, the first one stays."""
        before = self.store
        self.store = SessionStore(folder.expanduser())
        if self.save():
            self.answers.move_to(self.store.folder)
            return True
        self.store = before
        return False

    def take_remark(self) -> str:
        """What is to be told once about where the session was saved; empty when nothing is."""
        remark, self.remark = self.remark, ""
        return remark

    def _take(self, session: Session, *, read_only: bool = False) -> None:
        self._session = session
        self.read_only = read_only
        self.noted = {}
        self.remark = ""
        self.since = self.clock.monotonic()

    def _change(self, session: Session) -> None:
        if not self.read_only:
            self._session = session
            self.save()

    def _now(self) -> datetime:
        return self.clock.wall()


def _open_again(session: Session) -> Session:
    """A session whose note was written goes on when another test is done."""
    return session.model_copy(update={"finished": None})


def intake_so_far(form: IntakeForm) -> Intake:
    """The answers that decide which tests follow; what is still open restricts nothing."""
    answers = form.answers
    chosen = {
        name: answers[name]
        for name in ("weight_bearing", "one_leg_confirmed", "precautions", "side", "goals")
        if answers.get(name) not in (None, ())
    }
    return Intake.model_validate({"goals": _ALL_GOALS, **chosen, "cautions": form.raised})
