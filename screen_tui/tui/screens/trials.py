"""Saved trials: made void, corrected or noted while the screen goes on, and afterwards.

Once a screen is finished nothing in it changes; what should have been is added to it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from textual import events

from screen_tui.errors import EntryRefusedError, ScreenError
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report.words import test_on, trial_value
from screen_tui.session.model import Session, Trial
from screen_tui.trial import record
from screen_tui.trial.addendum import corrected_value, make_addendum, replaced_by_it, trial_at
from screen_tui.tui.drawing.rows import Choice
from screen_tui.tui.drawing.words import trial_words
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.dialogs import (
    CORRECTED,
    AskDialog,
    Question,
    TypeInDialog,
    ask_for_correction,
    comment_dialog,
    void_dialog,
    why_refused,
)
from screen_tui.tui.screens.list import ListScreen


class TrialsScreen(ListScreen[None]):
    """Lists the saved trials, the last one marked."""

    GUIDE = "tests"

    def __init__(self) -> None:
        super().__init__("All trials")

    def on_mount(self) -> None:
        """Begin at the trial that was saved last: it is the one that somebody wants to mend."""
        self.at = max(len(self._trials) - 1, 0)
        super().on_mount()

    def lines(self) -> Sequence[Choice]:
        return [_line(self.host.protocol, trial) for trial in self._trials]

    def notice(self) -> str:
        return self.said or ("" if self._trials else "No trial was saved yet.")

    def hints(self) -> Sequence[KeyHint]:
        if not self._trials:
            return (KeyHint("b", "back", 0, self.go_back),)
        struck = bool(self._trial.void)
        why_not = record.why_no_correction(self._spec, self._trial)
        correct = KeyHint("f", "correct the value", 0, self._ask_for_value)
        return (
            KeyHint("x", "count it again" if struck else "void", 0, self._strike_or_restore),
            *(() if why_not else (correct,)),
            KeyHint("m", "add a comment", 0, self._ask_for_note),
            KeyHint("↑↓", "move", 1),
            KeyHint("b", "back", 0, self.go_back),
        )

    def choose(self) -> None:
        """Enter alone changes nothing: a key too much must not strike a trial out."""

    def take_key(self, key: str, event: events.Key) -> bool:
        self.said = ""
        return super().take_key(key, event)

    @property
    def _trials(self) -> tuple[Trial, ...]:
        return self.host.controller.session.trials

    @property
    def _trial(self) -> Trial:
        return self._trials[self.at]

    @property
    def _spec(self) -> TestSpec:
        return self.host.protocol.test(self._trial.test)

    def _put(self, trial: Trial, said: str) -> None:
        controller = self.host.controller
        controller.change(controller.session.with_trial_amended(self.at, trial))
        self.said = said
        self.redraw()
        self.host.ask_about_trouble()

    def _strike_or_restore(self) -> None:
        if self._trial.void:
            self.said = why_refused(record.restored, self._trial)
            if not self.said:
                self._put(record.restored(self._trial), "It counts again; its comment says so.")
            return
        self.host.ask(
            void_dialog(),
            lambda reason: self._put(record.struck_out(self._trial, reason), f"Void: {reason}."),
        )

    def _ask_for_note(self) -> None:
        self.host.ask(
            comment_dialog(self._trial, "A comment to this trial; it is added to what is there."),
            lambda words: self._put(record.noted(self._trial, words), "Comment added."),
        )

    def _ask_for_value(self) -> None:
        trial, spec = self._trial, self._spec
        ask_for_correction(
            self,
            spec,
            trial,
            lambda typed, reason: self._put(
                record.corrected(spec, trial, typed, reason), CORRECTED
            ),
        )


def _line(protocol: ScreenProtocol, trial: Trial, before: str = "") -> Choice:
    name = test_on(protocol, trial.test, trial.side)
    return Choice(name, "", f"{before}{trial_words(protocol, trial)}")


ADDENDUM = "Addendum"
STRIKE = "make it void"
CORRECT = "correct its value"
_REASON = "Why is this added? The reason and the time go into the note."


class AddendumScreen(ListScreen[Session | None]):
    """Lists what can be added to a finished session; dismissed with the session as it is then."""

    GUIDE = "note"
    STOPPABLE = False

    def __init__(self, session: Session) -> None:
        super().__init__(ADDENDUM)
        self.session = session
        self.said = "The finished session stays as it is; this is added to it."

    def on_mount(self) -> None:
        """Read what is in the file now: nothing is added to anything else."""
        try:
            self.session = self.host.controller.store.load(self.session.id)
        except ScreenError as error:
            self.said = str(error)
        super().on_mount()

    def lines(self) -> Sequence[Choice]:
        trials = enumerate(self.session.as_amended.trials, start=1)
        protocol = self.host.protocol
        return (
            Choice("", "w", "in words only"),
            *(_line(protocol, trial, f"trial {place}: ") for place, trial in trials),
        )

    def choose(self) -> None:
        place, protocol = self.at, self.host.protocol
        if place == 0:
            self._type("What is to be added?", lambda text: self._reason(text=text))
            return
        trial = trial_at(self.session, place)
        lead = f"Trial {place}, {test_on(protocol, trial.test, trial.side)}"
        fixed = record.why_no_correction(protocol.test(trial.test), trial)
        question = Question(
            title=ADDENDUM,
            lead=(f"{lead}: {trial_words(protocol, trial)}.", "What is to be added?"),
            answers=(STRIKE,) if fixed else (CORRECT, STRIKE),
        )

        def decided(answer: str) -> None:
            if answer == STRIKE:
                self._reason(self._why(place), trial=place, strike=True)
            else:
                self._ask_for_value(place)

        self.host.ask(AskDialog(question), decided)

    def _ask_for_value(self, place: int) -> None:
        trial = trial_at(self.session, place)
        spec = self.host.protocol.test(trial.test)

        def value(typed: str) -> float:
            return corrected_value(spec, trial, typed, "no reason yet")

        def take(typed: str) -> None:
            lead = f"{shown} becomes {typed}. {self._why(place)}"
            self._reason(lead, trial=place, value=value(typed))

        shown = f"{spec.name}, trial {place}: {trial_value(spec, trial) or 'no value'}"
        lead = f"{shown}. The value as it should be, in {spec.timer.counts or 'seconds'}."
        refuse = partial(why_refused, value)
        self.host.ask(TypeInDialog(ADDENDUM, lead, refuse), take)

    def _why(self, place: int) -> str:
        """Ask for the reason, and say which addendum this one replaces."""
        return f"{replaced_by_it(self.session, place)} {_REASON}".strip()

    def _type(self, lead: str, then: Callable[[str], None]) -> None:
        self.host.ask(TypeInDialog(ADDENDUM, lead, most=400), then)

    def _reason(self, lead: str = _REASON, **about: Any) -> None:
        """Ask why, and add it to the file."""

        def append(reason: str) -> None:
            store, now = self.host.controller.store, self.host.clock.wall()
            try:
                addendum = make_addendum(self.session, now, reason, **about)
                self.dismiss(store.append(self.session.id, addendum))
            except (EntryRefusedError, ScreenError) as error:
                self.said = str(error)

        self._type(lead, append)
