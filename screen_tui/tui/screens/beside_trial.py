"""What can be done at a test beside the trial itself: set-up, words, corrections, help."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from screen_tui.errors import EntryRefusedError
from screen_tui.session.model import Trial
from screen_tui.trial import actions, amend
from screen_tui.trial.keymap import Action
from screen_tui.trial.set_up import Said, in_short
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.dialogs import TypeInDialog, ask_for_correction, why_refused
from screen_tui.tui.screens.help import HelpScreen
from screen_tui.tui.screens.set_up import SetUpScreen
from screen_tui.tui.screens.trial import TrialScreen

WITH_THE_LAST = "It goes to the trial that was kept last here."


class BesideTrialScreen(TrialScreen):
    """Notes what belongs to a trial without leaving it.

    Words and corrections go to the trial at hand or, where nothing was begun, to the one that
    was kept last of this test on this leg.
    """

    def actions_beside(self) -> Mapping[Action, Callable[[], object]]:
        """The keys that stay at the trial."""
        return {
            Action.SET_UP: self._note_set_up,
            Action.NOTE: self._ask_for_words,
            Action.CORRECT: self._ask_for_value,
            Action.HELP: self._help,
            **(
                {Action.LAST_VALUES: self._show_last}
                if self.host.controller.earlier is not None
                else {}
            ),
        }

    def hints_beside(self, later: int) -> Sequence[KeyHint]:
        """What they do.

        Args:
            later: Ranks to add while a trial is at hand.
        """
        spec = self.itinerary.spec
        return (
            *((self.hint(Action.SET_UP, "set-up", 7 + later),) if spec.set_up else ()),
            *(
                (self.hint(Action.NOTE, "note", 8), self.hint(Action.CORRECT, "correct", 8))
                if self._something_to_tell
                else ()
            ),
            *(
                (self.hint(Action.LAST_VALUES, "last values", 8),)
                if self.host.controller.earlier is not None
                else ()
            ),
            self.hint(Action.HELP, "help", 2 + later // 2),
        )

    @property
    def _something_to_tell(self) -> bool:
        """Whether there is a trial that words or a correction could go to."""
        return self.trial.unsaved or self._last_kept is not None

    @property
    def _last_kept(self) -> int | None:
        """The place in the session of the last trial of this test on this leg."""
        at_hand = (self.itinerary.item.test, self.itinerary.item.side)
        trials = enumerate(self.host.controller.session.trials)
        return max((at for at, one in trials if (one.test, one.side) == at_hand), default=None)

    def _kept(self, what: str) -> Trial | None:
        """The trial kept last; None, with a sentence, where there is none."""
        place = self._last_kept
        if place is None:
            self.said = f"Nothing to {what} yet: no trial of this test was done on this leg."
            return None
        return self.host.controller.session.trials[place]

    def _show_last(self) -> None:
        """Show what was measured last time, or hide it again; until the program ends."""
        wanted = not self.host.settings.last_values
        self.host.settings = replace(self.host.settings, last_values=wanted)
        if wanted and not self.itinerary.value_then:
            self.said = "This test gave no value last time."
        self.redraw()

    def _help(self) -> None:
        self.host.push_screen(HelpScreen(self.host.protocol, self.itinerary.spec))

    def _note_set_up(self) -> None:
        if self.itinerary.spec.set_up:
            page = SetUpScreen(self.itinerary.spec, self.trial.set_up)
            self.host.push_screen(page, self._take_set_up)
        else:
            self.said = "Nothing about the set-up of this test is noted."

    def _take_set_up(self, said: Said | None) -> None:
        """Note what was said, for the trial at hand and all later ones."""
        if said is None:
            return
        if said:
            self.host.controller.note_set_up(said)
        self._trial = self.trial.with_set_up(self.set_up_so_far())
        if said:
            self.said = f"Set-up noted: {in_short(self.trial.set_up) or 'all as usual'}."
        self.redraw()
        self.host.ask_about_trouble()

    def _ask_for_words(self) -> None:
        lead = "A note to this trial, for the record."
        trial = Trial(test=self.itinerary.spec.id, note=self.trial.input.note)
        if not self.trial.unsaved:
            kept = self._kept("note")
            if kept is None:
                return
            trial, lead = kept, f"{lead} {WITH_THE_LAST}"

        def refuse(words: str) -> str:
            return why_refused(lambda: amend.noted(trial, words))

        page = TypeInDialog("Note to the trial", lead, refuse=refuse)
        self.host.push_screen(page, self._take_words)

    def _take_words(self, words: str | None) -> None:
        if words is None:
            return
        if self.trial.unsaved:
            self._trial = actions.with_words(self.trial, words)
            self.said = ""
        else:
            self._amend_last(lambda trial: amend.noted(trial, words), "Noted.")
        self.redraw()

    def _ask_for_value(self) -> None:
        spec = self.itinerary.spec
        trial: Trial | None
        if not self.trial.unsaved:
            trial = self._kept("correct")
        elif self.trial.ended:
            try:
                trial = actions.record_of(self.trial)
            except EntryRefusedError as error:
                self.said = str(error)
                return
        else:
            trial, self.said = None, "Not ended yet; there is no value to correct."
        if trial is not None:
            self.said = amend.why_no_correction(spec, trial)
            if not self.said:
                ask_for_correction(self, spec, trial, self._take_value)

    def _take_value(self, typed: str, reason: str) -> None:
        if self.trial.unsaved:
            self._trial = actions.with_value(self.trial, typed, reason)
        else:
            spec = self.itinerary.spec
            self._amend_last(
                lambda trial: amend.corrected(spec, trial, typed, reason),
                "Corrected; the first value stays in the record.",
            )
        self.redraw()

    def _amend_last(self, change: Callable[[Trial], Trial], told: str) -> None:
        place = self._last_kept
        if place is not None:
            controller = self.host.controller
            controller.amend_trial(place, change(controller.session.trials[place]))
            self.take_up(self.itinerary.item, self.trial.series.cue)
            self.said = told
            self.host.ask_about_trouble()
