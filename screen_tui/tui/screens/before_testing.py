"""Before testing: safety first, then what decides the tests, then who it is."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.flow.battery import plan_battery, withheld
from screen_tui.flow.intake import IntakeForm
from screen_tui.tui.controller import intake_so_far
from screen_tui.tui.drawing.before_testing import (
    beside,
    draw_battery,
    draw_questions,
    question_width,
)
from screen_tui.tui.drawing.rows import BLANK, Row
from screen_tui.tui.drawing.words import minutes
from screen_tui.tui.keybar import KeyHint
from screen_tui.tui.screens.ask import AskPage, Question
from screen_tui.tui.screens.help import HelpPage
from screen_tui.tui.screens.page import Drawn, Page, page_head
from screen_tui.tui.screens.refer_first import ReferFirstPage

_LEAVE = "leave; these answers are forgotten"


class BeforeTestingPage(Page[None]):
    """Draws the form and hands it the keys."""

    def __init__(self) -> None:
        super().__init__()
        self.form: IntakeForm | None = None

    def on_mount(self) -> None:
        """Begin with nothing answered."""
        self.form = IntakeForm.blank(self.host.protocol)
        super().on_mount()

    def head(self) -> tuple[Row, Row]:
        """How far the questions are, and how long the tests will take."""
        if self.form is None:
            return page_head("Before testing")
        answered, asked = self.form.progress
        items = plan_battery(self.host.protocol, intake_so_far(self.form))
        total = minutes(sum(item.minutes for item in items))
        tests = "refer first" if self.form.raised else f"tests {total}"
        return page_head("Before testing", f"{answered} of {asked} answered", tests)

    def draw(self, width: int, height: int) -> Drawn:
        """Draw the questions, and the tests beside or below them."""
        if self.form is None:
            return Drawn(())
        left_width = question_width(width)
        rows, focus = draw_questions(self.form.rows(), left_width)
        intake = intake_so_far(self.form)
        items = plan_battery(self.host.protocol, intake)
        held_back = withheld(self.host.protocol, intake)
        panel_width = width - left_width - 2 if left_width < width else width
        battery = draw_battery(self.host.protocol, items, held_back, panel_width)
        if left_width == width:
            return Drawn([*rows, BLANK, *battery], focus)
        # The tests stay in sight beside whatever part of the questions is shown.
        first = max(min(focus[0] - 2, len(rows) - height), 0)
        shown = rows[first : max(first + height, focus[1] + 1)]
        drop = max(focus[1] + 1 - first - height, 0)
        return Drawn(beside(shown[drop:][:height], battery[:height], left_width))

    def notice(self) -> str:
        """That the answers so far lead to a referral, once they do."""
        if self.form is not None and self.form.raised:
            return "REFER FIRST: no test is offered. What is still asked goes into the note."
        return ""

    def hints(self) -> Sequence[KeyHint]:
        """What the keys do on the question that is open."""
        if self.form is None:
            return ()
        kind = self.form.current.kind
        count = len(self.form.current.options)
        own = {
            "yes-no": (KeyHint("y", "yes", 0), KeyHint("n", "no", 0)),
            "choice": (KeyHint(f"1-{count}", "choose", 0),),
            "several": (KeyHint(f"1-{count}", "mark", 0), KeyHint("Enter", "go on", 0)),
            "number": (KeyHint("Enter", "accept", 0),),
            "text": (KeyHint("Enter", "accept", 0),),
        }[kind]
        typing = kind in ("number", "text")
        letters = () if kind == "text" else (KeyHint("?", "help", 3), KeyHint("q", "leave", 2))
        back = KeyHint("Backspace", "delete, back" if typing else "take back", 1)
        return (*own, back, KeyHint("↑↓", "move", 4), *letters)

    def take_key(self, key: str, event: events.Key) -> bool:
        """Help and leaving stand beside the form, except where a text is typed."""
        if self.form is None:
            return False
        if self.form.current.kind != "text":
            if key == "?":
                self.host.push_screen(HelpPage(self.host.protocol))
                return True
            if key == "q":
                self._ask_to_leave()
                return True
        before = self.form.raised
        self.form = self.form.key(event.key, event.character)
        new = [caution for caution in self.form.raised if caution not in before]
        if new:
            caution = self.host.protocol.caution(new[0])
            self.host.push_screen(ReferFirstPage(self.host.protocol, caution), self._after_refer)
        elif self.form.done:
            self._accept()
        return True

    def _after_refer(self, taken_back: bool | None) -> None:
        if self.form is None:
            return
        if taken_back:
            self.form = self.form.key("backspace", None)
        else:
            self.form = self.form.key("enter", None)
        self.redraw()

    def _accept(self) -> None:
        assert self.form is not None
        host = self.host
        host.keeper.begin(*self.form.result())
        if self.form.raised:
            host.go_note()
        elif host.keeper.tests_possible:
            host.go_test()
        else:
            host.go_result()
        host.ask_about_trouble()

    def _ask_to_leave(self) -> None:
        question = Question(
            title="Leave the questions",
            lead=("A screen is saved from its last question on. Leave now?",),
            answers=(_LEAVE,),
            back="go on answering",
        )
        self.host.push_screen(AskPage(question), self._leave)

    def _leave(self, answer: str | None) -> None:
        if answer == _LEAVE:
            self.host.go_start()
