"""One round: a folder, a program in it, its end, and what was left."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from random import Random
from typing import Literal

from kill.check import Fault, Folder, faults_of, read_folder
from kill.hand import CLOSED, EndedError, Hand, Instant
from kill.ledger import Ledger, as_words
from kill.script import QUESTIONS, go_on, open_what_waits, spec_on, step

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Session
from screen_tui.trial.intake import IntakeForm
from screen_tui.tui.drawing.words import interrupted_sentence

Stage = Literal["empty", "draft", "begun", "stance"]


@dataclass(frozen=True)
class Plan:
    """What a round does; the same plan with the same seed presses the same keys.

    Attributes:
        seed: Of all that is random in the round.
        way: How the program is ended.
        stage: The folder it begins in.
        instant: When it is ended.
        to_note: Whether the note is written at once.
        goes_on: Whether it goes on in the folder the round before has left.
    """

    seed: str
    way: str
    stage: Stage
    instant: Instant
    to_note: bool = False
    goes_on: bool = False

    def __str__(self) -> str:
        whence = "goes on" if self.goes_on else "note" if self.to_note else self.stage
        return f"{self.way}, {whence}, {self.instant}"


@dataclass
class Outcome:
    """What a round came to.

    Attributes:
        trials: Trials that were shown as kept or struck out in it.
        more: Tests shown as skipped, and trials shown as struck out or noted later.
        where: The page on which it ended.
        cut_short: Whether a write was cut short.
        resumed: Whether the end of the round before was checked by going on after it.
        can_go_on: Whether the next round can go on in its folder.
        faults: What was not as promised.
    """

    trials: int = 0
    more: int = 0
    where: str = ""
    cut_short: bool = False
    resumed: bool = False
    can_go_on: bool = False
    faults: list[Fault] = field(default_factory=list)


@cache
def protocol() -> ScreenProtocol:
    """What the installed command tests."""
    return load_protocol([protocols_folder()], DEFAULT_BATTERY)


class Calm(Random):
    """Decides as somebody who does only what has to be done."""

    def random(self) -> float:
        """Nothing that is done only now and then."""
        return 0.99

    def uniform(self, a: float, b: float) -> float:
        """As fast as it goes."""
        del b
        return a


@dataclass(frozen=True)
class Rounds:
    """Plays rounds below a folder of its own.

    Args:
        below: Where everything is written; it may be thrown away afterwards.
    """

    below: Path

    @property
    def home(self) -> Path:
        """Where the program keeps its data in a round."""
        return self.below / "home"

    def play(self, plan: Plan) -> Outcome:
        """Play a round."""
        if not plan.goes_on:
            shutil.rmtree(self.home, ignore_errors=True)
            shutil.copytree(self.prepared(plan.stage), self.home)
        before = read_folder(self.home / "sessions")
        ledger, rng = Ledger(protocol()), Random(plan.seed)
        outcome = Outcome()
        with Hand(self.home, ledger, rng, plan.way, plan.instant) as hand:
            try:
                self._drive(hand, plan, before, outcome)
            except EndedError:
                pass
            except AssertionError as error:
                outcome.faults.append(Fault("wrong", str(error)))
                hand.give_up()
            ended = hand.ending()
        left = read_folder(self.home / "sessions")
        outcome.faults += _wrong_ending(plan.way, ended, ledger)
        outcome.faults += faults_of(ledger, left, in_order=plan.way != "SIGKILL" and ledger.started)
        outcome.where = _where(hand)
        outcome.trials = sum(one.seen for one in ledger.trials)
        later = sum(bool(one.void) + len(one.notes) for one in ledger.trials)
        outcome.more = len(ledger.skips) + later
        outcome.cut_short = left.cut_short > before.cut_short
        outcome.can_go_on = not outcome.faults and not any(one.finished for one in left.sessions)
        return outcome

    def _drive(self, hand: Hand, plan: Plan, before: Folder, outcome: Outcome) -> None:
        if before.sessions:
            hand.ledger.begin_with(before.sessions[-1])
        offered = open_what_waits(hand, _form_of(before))
        # What the program itself puts right on the way in is part of what is promised.
        outcome.faults += self._faults_of_start(hand, offered, before)
        outcome.resumed = plan.goes_on
        go_on(hand, to_note=plan.to_note)

    def _faults_of_start(self, hand: Hand, offered: str, before: Folder) -> list[Fault]:
        """Whether what was left before could be taken up as it was."""
        was = before.sessions[-1] if before.sessions else None
        if was is None:
            wanted = QUESTIONS if before.drafts else ""
            return [] if wanted in offered else [Fault("lost", "the answers are not offered")]
        if was.client.label not in offered or "another window" in offered:
            return [Fault("lost", f"the session is not offered: {offered}")]
        return self._told_as_interrupted(hand, was)

    def _told_as_interrupted(self, hand: Hand, was: Session) -> list[Fault]:
        hand.wait_until(lambda: spec_on(hand) is not None or _at_result(hand), "a test again")
        now = read_folder(self.home / "sessions")
        (session,) = now.sessions
        wanted = was if was.under_way is None else was.with_trial(was.under_way)
        faults = list(now.faults)
        if session != wanted:
            faults.append(Fault("lost", "going on has changed the session"))
        if was.under_way is not None:
            hand.wait_for_any(as_words(interrupted_sentence(hand.ledger.protocol, was.under_way)))
        hand.ledger.begin_with(session)
        return faults

    def prepared(self, stage: Stage) -> Path:
        """A folder in which the program was used up to a stage and left with its own keys."""
        home = self.below / stage
        if stage == "empty":
            home.mkdir(exist_ok=True)
        if not home.exists():
            if stage == "stance":
                shutil.copytree(self.prepared("begun"), home)
            self._use_up_to(stage, home)
        assert home.exists(), f"the program kept nothing of the stage {stage}"
        return home

    def _use_up_to(self, stage: Stage, home: Path) -> None:
        reached: dict[Stage, Callable[[Hand], bool]] = {
            "draft": lambda hand: (
                hand.ledger.form is not None and len(hand.ledger.form.last.answers) > 9
            ),
            "begun": lambda hand: spec_on(hand) is not None,
            "stance": lambda hand: "tance" in hand.look.head,
        }
        with Hand(home, Ledger(protocol()), Calm(stage), CLOSED, None) as hand:
            open_what_waits(hand, IntakeForm.blank(protocol()))
            while not reached[stage](hand):
                step(hand)
            hand.press("q")
            if stage == "draft":
                hand.wait_for_any("Leave the questions")
                hand.press("1")
            hand.wait_for_any("New session")
            hand.press("q")
            assert hand.ending() == "0"


def _at_result(hand: Hand) -> bool:
    return hand.look.head.startswith(("Answer", "Plan", "Note"))


def _form_of(folder: Folder) -> IntakeForm:
    """The questions as the program will show them."""
    if not folder.drafts:
        return IntakeForm.blank(protocol())
    draft = folder.drafts[-1]
    return IntakeForm.restored(protocol(), draft.answers, draft.accepted, draft.at)


def _wrong_ending(way: str, ended: str, ledger: Ledger) -> list[Fault]:
    right = {way}
    if way != "SIGKILL":
        # Before the first screen nobody listens yet, and nothing is open that could be lost.
        right = {"0"} if ledger.started else {"0", "SIGHUP", way}
    return [] if ended in right else [Fault("wrong", f"ended with {ended}, not {sorted(right)}")]


def _where(hand: Hand) -> str:
    shown = hand.look.shown
    if shown is not None:
        return shown.state if not shown.begun or shown.state != "READY" else "READY, prepared"
    return hand.look.head.partition("  ")[0] or "nothing drawn"
