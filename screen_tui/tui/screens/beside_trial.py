"""What is noted beside a trial: its set-up, words to it, and another value than was timed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from textual import events

from screen_tui.errors import EntryRefusedError
from screen_tui.protocol.tests import SetUp
from screen_tui.session.model import Trial
from screen_tui.trial import actions, record
from screen_tui.trial.set_up import (
    Noted,
    Said,
    SetUpForm,
    carried,
    in_short,
    limits,
    of_last_visit,
    value_words,
)
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    TextRole,
    cells,
    flowed,
    paragraph,
    pressing,
    row,
)
from screen_tui.tui.keys import KeyHint, digits
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.dialogs import CORRECTED, ask_for_correction, comment_dialog

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


ITEM = "item "
"""Before the place of an item, as what a click on it stands for."""

_LEAD = (
    "Note only what you have seen or measured. It is recorded with this trial and the later ones, "
    "in other tests too. What is not noted counts as usual."
)


_AS_LAST_TIME = (
    "As at the last visit. Enter takes all of it for the tests of today; change what is not so. "
    "b takes none of it."
)


class SetUpScreen(BaseScreen[Said | None]):
    """Shows the form and hands it the keys; it is dismissed with what was changed.

    Args:
        form: What is asked for, at least one thing, and what is noted of it.
        about: For the head of the page, such as the name of the test.
        as_last_time: It is what the last visit noted, and Enter takes all of it.
    """

    GUIDE = "tests"
    STEADY_NOTICE = 1
    STEADY_KEYS = 2

    def __init__(self, form: SetUpForm, about: str, *, as_last_time: bool = False) -> None:
        super().__init__()
        self.form = form
        self.about = about
        self.as_last_time = as_last_time

    def head(self) -> tuple[Row, Row]:
        return screen_head("Set-up", self.about)

    def draw(self, width: int, height: int) -> Drawn:
        lead = _AS_LAST_TIME if self.as_last_time else _LEAD
        above = [*paragraph(lead, width, "quiet"), BLANK]
        rows, (first, last) = draw_set_up(self.form, width)
        return Drawn([*above, *rows], (len(above) + first, len(above) + last))

    def notice(self) -> str:
        return self.form.problem

    def hints(self) -> Sequence[KeyHint]:
        form = self.form
        several = len(form.items) > 1
        own = (
            (KeyHint(digits(len(form.current.choices)), "choose", 0), KeyHint("Space", "other", 2))
            if form.current.choices
            else (KeyHint("0-9 .", "type", 0),)
        )
        enter = (KeyHint("Enter", "next", 1),) if several else ()
        if self.as_last_time:
            enter = (KeyHint("Enter", "take all", 0),)
        taking_back = form.current.id in form.noted or form.typed
        return (
            *own,
            *((KeyHint("x", "as usual, not noted", 2),) if taking_back else ()),
            *enter,
            *((KeyHint("↑↓", "move", 3),) if several else ()),
            *((KeyHint("Backspace", "delete", 1),) if form.typed else ()),
            KeyHint("b", "not as last time" if self.as_last_time else "back to the test", 0),
        )

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(ITEM):
            self.form = self.form.go_to(int(press.removeprefix(ITEM)))
            self.redraw()
        else:
            super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        if self.as_last_time and key in ("b", "backspace") and not self.form.typed:
            self.go_back()  # nothing of it was looked at, so nothing of it holds today
            return True
        form = self.form.key("b" if self.as_last_time and key == "enter" else key)
        taken = form != self.form
        self.form = form
        if form.done:
            self.dismiss(form.changes)
        return taken


def draw_set_up(form: SetUpForm, width: int) -> tuple[list[Row], tuple[int, int]]:
    """Draw the form; gives the first and last row of the item the keys go to, too."""
    rows: list[Row] = []
    focus = (0, 0)
    label_cells = max(cells(item.label) for item in form.items)
    for place, item in enumerate(form.items):
        noted, current = form.noted.get(item.id), place == form.at
        value = value_words(item, item.usual if noted is None else noted)
        head = row(
            Span("> " if current else "  ", "first"),
            Span(f"{item.label:<{label_cells}}  ", "strong" if current else "plain"),
            Span(f"{value:<10}", "first" if current else "strong"),
        )
        if noted is None:
            drawn = paragraph("usual, not noted", width, "quiet", first=head)
        else:
            drawn = paragraph("noted", width, first=head)
        if current and item.choices:
            drawn += _choices(item, noted, width)
        elif current:
            drawn.append(row(f"    type {limits(item)}: ", Span(f"{form.typed}▏", "first")))
        if current:
            focus = (len(rows), len(rows) + len(drawn) - 1)
        rows += pressing(drawn, f"{ITEM}{place}")
    return rows, focus


def _choices(item: SetUp, noted: float | str | None, width: int) -> list[Row]:
    """The choices, as many on a line as fit; the noted one is marked in words and by its box."""
    choices: list[Row] = []
    for digit, choice in enumerate(item.choices, start=1):
        ink: TextRole = "second" if choice == noted else "plain"
        box = "[x]" if choice == noted else "[ ]"
        key, text = str(digit), f" {box} {choice.replace('-', ' ')}  "
        choices.append((Span(f" {key} ", "key", key), Span(text, ink, key)))
    return [row("    ", *line) for line in flowed(choices, width - 4)]
