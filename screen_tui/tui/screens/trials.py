"""All trials that were kept: one can be struck out, corrected or noted afterwards."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from textual import events

from screen_tui.protocol.tests import TestSpec
from screen_tui.report.words import test_name, with_side
from screen_tui.session.model import Trial
from screen_tui.trial import amend
from screen_tui.trial.ending import STRIKE_REASONS
from screen_tui.tui.drawing.rows import Choice
from screen_tui.tui.drawing.words import trial_words
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.ask import AskDialog, Question
from screen_tui.tui.screens.correct_value import ask_for_correction, why_refused
from screen_tui.tui.screens.list import ListScreen
from screen_tui.tui.screens.type_in import TypeInDialog


class TrialsScreen(ListScreen[None]):
    """Lists what was kept, the last trial marked."""

    def __init__(self) -> None:
        super().__init__("Kept trials")
        self.said = ""

    def on_mount(self) -> None:
        """Begin at the trial that was kept last: it is the one that somebody wants to mend."""
        self.at = max(len(self._trials) - 1, 0)
        super().on_mount()

    def lines(self) -> Sequence[Choice]:
        protocol = self.host.protocol
        return tuple(
            Choice(
                with_side(test_name(protocol, trial.test), trial.side),
                "",
                trial_words(protocol, trial),
            )
            for trial in self._trials
        )

    def notice(self) -> str:
        return self.said or ("" if self._trials else "No trial was kept yet.")

    def hints(self) -> Sequence[KeyHint]:
        if not self._trials:
            return (KeyHint("b", "back", 0),)
        struck = bool(self._trial.void)
        return (
            KeyHint("x", "count it again" if struck else "strike out", 0),
            KeyHint("f", "correct the value", 0),
            KeyHint("m", "add a note", 0),
            KeyHint("↑↓", "move", 1),
            KeyHint("b", "back", 0),
        )

    def choose(self) -> None:
        """Enter alone changes nothing: a key too much must not strike a trial out."""

    def take_key(self, key: str, event: events.Key) -> bool:
        ways: Mapping[str, Callable[[], None]] = {
            "x": self._strike_or_restore,
            "f": self._ask_for_value,
            "m": self._ask_for_note,
        }
        self.said = ""
        if key in ways and self._trials:
            ways[key]()
            return True
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

    def _put(self, trial: Trial, told: str) -> None:
        self.host.controller.amend_trial(self.at, trial)
        self.said = told
        self.redraw()
        self.host.ask_about_trouble()

    def _strike_or_restore(self) -> None:
        if self._trial.void:
            self.said = why_refused(lambda: amend.restored(self._trial))
            if not self.said:
                self._put(amend.restored(self._trial), "It counts again; its note says so.")
            return
        question = Question(
            title="Strike out",
            lead=("Why is this trial struck out? It stays in the record.",),
            answers=STRIKE_REASONS,
            own_words="another reason, typed",
        )

        def strike(reason: str | None) -> None:
            if reason is not None:
                self._put(amend.struck_out(self._trial, reason), f"Struck out: {reason}.")

        self.host.push_screen(AskDialog(question), strike)

    def _ask_for_note(self) -> None:
        def note(words: str | None) -> None:
            if words is not None:
                self._put(amend.noted(self._trial, words), "Noted.")

        def refuse(words: str) -> str:
            return why_refused(lambda: amend.noted(self._trial, words))

        lead = "A note to this trial; it is added to what stands there."
        self.host.push_screen(TypeInDialog("Note to the trial", lead, refuse=refuse), note)

    def _ask_for_value(self) -> None:
        spec, trial = self._spec, self._trial
        self.said = amend.why_no_correction(spec, trial)
        if self.said:
            return

        def correct(typed: str, reason: str) -> None:
            self._put(
                amend.corrected(spec, trial, typed, reason),
                "Corrected; the first value stays in the record.",
            )

        ask_for_correction(self, spec, trial, correct)
