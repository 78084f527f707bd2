"""The questions before testing, put to a simulated patient."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.trial.battery import plan_battery, withheld
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_so_far import intake_so_far
from screen_tui.tui.drawing.before_testing import (
    beside,
    draw_battery,
    question_width,
)
from screen_tui.tui.drawing.practice import draw_interview
from screen_tui.tui.drawing.rows import BLANK, Row, Span
from screen_tui.tui.keybar import KeyHint
from screen_tui.tui.practising import Practising
from screen_tui.tui.screens.before_testing import BeforeTestingPage
from screen_tui.tui.screens.page import Drawn
from screen_tui.tui.screens.practice_leave import ask_to_leave_practice

ASK_FURTHER = "h"
NOT_PUT = frozenset({"note"})
"""What the student writes is no question to the patient."""


class PracticeQuestionsPage(BeforeTestingPage):
    """The ordinary form; below it stands what the patient says to the question that is open."""

    def __init__(self, form: IntakeForm | None, practising: Practising) -> None:
        super().__init__(form)
        self.practising = practising

    def on_mount(self) -> None:
        """Put the first question."""
        if self.form is not None:
            self._put(self.form.at)
        super().on_mount()

    def head(self) -> tuple[Row, Row]:
        left, right = super().head()
        return (*left, Span(", practice", "first")), right

    def draw(self, width: int, height: int) -> Drawn:
        if self.form is None:
            return Drawn(())
        heard = self.practising.interview.heard(self.form.at)
        left = question_width(width)
        shown, words = draw_interview(self.form.rows(), heard, width, left, height)
        room = height - len(words)
        if left < width:
            protocol, intake = self.host.keeper.protocol, intake_so_far(self.form)
            items, held_back = plan_battery(protocol, intake), withheld(protocol, intake)
            shown = beside(
                shown, draw_battery(protocol, items, held_back, width - left - 2)[:room], left
            )
        return Drawn([*shown, *([BLANK] * (room - len(shown))), *words])

    def hints(self) -> Sequence[KeyHint]:
        more = (KeyHint(ASK_FURTHER, "hear more", 0),) if self._may_ask else ()
        return (*more, *super().hints())

    @property
    def _may_ask(self) -> bool:
        form = self.form
        if form is None or form.current.kind == "text" or form.at in NOT_PUT:
            return False
        return self.practising.interview.may_know_more(form.at)

    def take_key(self, key: str, event: events.Key) -> bool:
        if key == ASK_FURTHER and self._may_ask and self.form is not None:
            interview = self.practising.interview
            self.practising.interview = interview.ask(self.form.at)
            return True
        return super().take_key(key, event)

    def _take(self, form: IntakeForm) -> None:
        super()._take(form)
        self._put(form.at)

    def _put(self, question: str) -> None:
        """Put a question when it is opened for the first time."""
        interview = self.practising.interview
        if question not in NOT_PUT and not interview.heard(question):
            self.practising.interview = interview.ask(question)

    def _ask_to_leave(self, form: IntakeForm) -> None:
        del form
        ask_to_leave_practice(self.host)
