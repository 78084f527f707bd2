"""What is noted beside a trial: its set-up, words to it, and another value than was timed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from screen_tui.errors import EntryRefusedError
from screen_tui.session.model import Trial
from screen_tui.trial import actions, record
from screen_tui.trial.set_up import Noted, Said, SetUpForm, carried, in_short, of_last_visit
from screen_tui.tui.screens.dialogs import CORRECTED, ask_for_correction, comment_dialog
from screen_tui.tui.screens.set_up import SetUpScreen

if TYPE_CHECKING:
    from screen_tui.tui.screens.test import TestScreen

WITH_THE_LAST = "It goes to the trial that was saved last here."


class BesideTrial:
    """Asks for it, and gives it to the trial at hand of a page.

    Args:
        page: The page of the test.
    """

    def __init__(self, page: TestScreen) -> None:
        self.page = page
        self._asked = False

    def set_up_so_far(self) -> Noted:
        """What is noted for the next trial of the test at hand."""
        controller = self.page.host.controller
        return carried(self.page.itinerary.spec, controller.session.trials, controller.noted)

    def note_set_up(self) -> None:
        """Show how the test at hand is set up, to note what is not usual."""
        if self.page.itinerary.spec.set_up:
            spec = self.page.itinerary.spec
            page = SetUpScreen(
                SetUpForm(spec.set_up, self.page.trial.set_up, self.page.trial.set_up),
                spec.short_name,
            )
            self.page.host.ask(page, self._take_set_up)
        else:
            self.page.said = "Nothing about the set-up of this test is recorded."

    def ask_as_last_time(self) -> None:
        """Ask once, at the first test it matters to, whether the set-up is that of last time."""
        controller, tests = self.page.host.controller, self.page.itinerary
        known = controller.noted or carried(tests.spec, controller.session.trials, {})
        if controller.earlier is None or self._asked or known or not tests.spec.set_up:
            return
        self._asked = True
        others = (self.page.host.protocol.test(item.test) for item in tests.items)
        items, noted = of_last_visit((tests.spec, *others), controller.earlier.trials)
        if items:
            form = SetUpForm(items, {}, noted)
            page = SetUpScreen(form, "as last time", as_last_time=True)
            self.page.host.ask(page, self._take_set_up)

    def _take_set_up(self, said: Said) -> None:
        """Note what was said, for the trial at hand and all later ones."""
        if said:
            self.page.host.controller.note_set_up(said)
        self.page.trial = replace(self.page.trial, set_up=self.set_up_so_far())
        if said:
            self.page.said = f"Set-up noted: {in_short(self.page.trial.set_up) or 'all as usual'}."
        self.page.redraw()
        self.page.host.ask_about_trouble()

    # Words and corrections: to the trial at hand or, where nothing was begun, to the last one of
    # this test on this leg.

    @property
    def last_here(self) -> int | None:
        """The place in the session of the last trial of this test on this leg."""
        at_hand = (self.page.itinerary.item.test, self.page.itinerary.item.side)
        trials = enumerate(self.page.host.controller.session.trials)
        return max((at for at, one in trials if (one.test, one.side) == at_hand), default=None)

    def _last_trial(self, what: str) -> Trial | None:
        """That trial; None, with a sentence, where there is none."""
        place = self.last_here
        if place is None:
            self.page.said = f"Nothing to {what} yet: no trial of this test was done on this leg."
            return None
        return self.page.host.controller.session.trials[place]

    def ask_for_words(self) -> None:
        """Ask for a comment to the trial."""
        lead = "A comment to this trial, for the record."
        trial = Trial(test=self.page.itinerary.spec.id, note=self.page.trial.input.note)
        if not self.page.trial.unsaved:
            last = self._last_trial("comment on")
            if last is None:
                return
            trial, lead = last, f"{lead} {WITH_THE_LAST}"

        def take(words: str) -> None:
            if self.page.trial.unsaved:
                self.page.trial = actions.with_words(self.page.trial, words)
                self.page.said = ""
            else:
                self._amend_last(lambda trial: record.noted(trial, words), "Comment added.")
            self.page.redraw()

        self.page.host.ask(comment_dialog(trial, lead), take)

    def ask_for_value(self) -> None:
        """Ask for another value, and why."""
        spec = self.page.itinerary.spec
        trial: Trial | None
        if not self.page.trial.unsaved:
            trial = self._last_trial("correct")
        elif self.page.trial.ended:
            try:
                trial = record.record_of(self.page.trial)
            except EntryRefusedError as error:
                self.page.said = str(error)
                return
        else:
            trial, self.page.said = None, "Not ended yet; there is no value to correct."
        if trial is not None:
            self.page.said = record.why_no_correction(spec, trial)
            if not self.page.said:
                ask_for_correction(self.page, spec, trial, self._take_value)

    def _take_value(self, typed: str, reason: str) -> None:
        if self.page.trial.unsaved:
            self.page.trial = actions.with_value(self.page.trial, typed, reason)
        else:
            spec = self.page.itinerary.spec
            self._amend_last(lambda trial: record.corrected(spec, trial, typed, reason), CORRECTED)
        self.page.redraw()

    def _amend_last(self, change: Callable[[Trial], Trial], said: str) -> None:
        place = self.last_here
        if place is not None:
            controller = self.page.host.controller
            controller.amend_trial(place, change(controller.session.trials[place]))
            self.page.take_up(self.page.itinerary.item, self.page.trial.series.cue)
            self.page.said = said
            self.page.host.ask_about_trouble()
