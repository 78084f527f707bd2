"""Before testing: safety first, then what decides the tests, then who it is."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.errors import SaveFailedError
from screen_tui.session.model import Session
from screen_tui.trial.battery import plan_battery, withheld
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import CLEAR, TYPED, characters, longest
from screen_tui.trial.intake_so_far import age_so_far, intake_so_far
from screen_tui.tui.drawing.before_testing import (
    QUESTION,
    beside,
    draw_battery,
    draw_battery_in_short,
    draw_questions,
    in_sight,
    question_width,
)
from screen_tui.tui.drawing.rows import BLANK, Row
from screen_tui.tui.drawing.words import minutes
from screen_tui.tui.field import Field
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.dialogs import AskDialog, Question
from screen_tui.tui.screens.help import HelpScreen
from screen_tui.tui.screens.refer_first import ReferFirstScreen

_ROWS_OF_BATTERY = 4
LEAVE = "leave; the answers stay"
FORGET = "forget these answers"


class BeforeTestingScreen(BaseScreen[None]):
    """Draws the form and hands it the keys; every change is on disk before the next key.

    Args:
        form: Answers to go on with; nothing is answered when left out.
        earlier: The session that this one is a re-test of; None for none.
    """

    GUIDE = "before-testing"

    def __init__(
        self, form: IntakeForm | None = None, earlier: Session | None = None, told: str = ""
    ) -> None:
        super().__init__()
        self.earlier = earlier
        self.form = form
        self.said = told

    def on_mount(self) -> None:
        """Begin where the answers end; a yes that nobody decided on is asked about again."""
        form = self.form = self.form or IntakeForm.blank(self.host.protocol)
        self.field = _field_of(form)
        super().on_mount()
        if form.at in form.raised and form.at not in form.accepted:
            self._ask_about(form.at)

    def head(self) -> tuple[Row, Row]:
        if self.form is None:
            return screen_head("Before testing")
        answered, asked = self.form.progress
        items = plan_battery(self.host.protocol, intake_so_far(self.form), age_so_far(self.form))
        total = minutes(sum(item.minutes for item in items))
        tests = "refer first" if self.form.raised else f"tests {total}"
        return screen_head("Before testing", f"{answered} of {asked} answered", tests)

    def draw(self, width: int, height: int) -> Drawn:
        if self.form is None:
            return Drawn(())
        cursor = None if self.field is None else self.field.cursor_position
        left_width = question_width(width)
        intake, age = intake_so_far(self.form), age_so_far(self.form)
        items = plan_battery(self.host.protocol, intake, age)
        if left_width == width:
            battery = draw_battery_in_short(self.host.protocol, items, width, _ROWS_OF_BATTERY)
            left = height - len(battery)
            rows, focus = draw_questions(self.form.rows(), left_width, left, cursor)
            shown = in_sight(rows, focus, left)
            return Drawn([*shown, *([BLANK] * (left - len(shown))), *battery])
        rows, focus = draw_questions(self.form.rows(), left_width, height, cursor)
        held_back = withheld(self.host.protocol, intake, age)
        battery = draw_battery(self.host.protocol, items, held_back, width - left_width - 2)
        # The tests stay in sight beside whatever part of the questions is shown.
        return Drawn(beside(in_sight(rows, focus, height), battery[:height], left_width))

    def notice(self) -> str:
        if self.said_of_typing or self.said:
            return self.said_of_typing or self.said
        if self.form is not None and self.form.raised:
            return "REFER FIRST: no test is offered; the rest is for the note."
        return ""

    def hints(self) -> Sequence[KeyHint]:
        if self.form is None:
            return ()
        kind = self.form.current.kind
        current = self.form.current
        keys = f"{current.option_keys[:1]}-{current.option_keys[-1:]}"
        leave_open = (KeyHint("Enter", current.left_open, 0),) if current.optional else ()
        clear = (KeyHint(CLEAR, "cleared", 0),) if self.form.at in self.form.raised else ()
        own = {
            "yes-no": (KeyHint("y", "yes", 0), KeyHint("n", "no", 0), *clear, *leave_open),
            "choice": (KeyHint(keys, "choose", 0), *leave_open),
            "several": (KeyHint(keys, "mark", 0), KeyHint("Enter", "go on", 0)),
            "number": (KeyHint("Enter", "accept", 0),),
            "text": (KeyHint("Enter", "accept", 0),),
        }[kind]
        letters = () if self.typing_now else (KeyHint("?", "help", 3), KeyHint("q", "leave", 2))
        back = KeyHint("Backspace", "delete, back" if kind in TYPED else "take back", 1)
        return (*own, back, KeyHint("↑↓", "move", 4), *letters)

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(QUESTION) and self.form is not None:
            self._take(self.form.go_to(press.removeprefix(QUESTION)))
            self.redraw()
        else:
            super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        if self.form is None:
            return False
        if not self.typing_now:
            if key == "?":
                self.host.push_screen(HelpScreen(self.host.protocol))
                return True
            if key == "q":
                self._ask_to_leave(self.form)
                return True
        before = self.form.raised
        form = self.form.key(event.key, event.character)
        if form == self.form:
            return False
        self._take(form)
        new = [caution for caution in form.raised if caution not in before]
        if new:
            self._ask_about(new[0])
        elif form.done:
            self._accept(form)
        return True

    def typed(self) -> None:
        if self.form is not None and self.field is not None and self.field.value != self.form.text:
            self._take(self.form.with_text(self.field.value))

    def _take(self, form: IntakeForm) -> None:
        if self.form is None or form.at != self.form.at:
            self.field = _field_of(form)
        self.form = form
        answers = self.host.controller.draft
        # An earlier visit that cannot be read now may be another time.
        answers.keep(form, answers.follows if self.earlier is None else self.earlier.id)
        self.said = answers.take_remark()

    def _ask_about(self, raised: str) -> None:
        protocol = self.host.protocol
        self.host.push_screen(
            ReferFirstScreen(protocol, protocol.caution(raised)), self._after_refer
        )

    def _after_refer(self, key: str | None) -> None:
        if self.form is None:
            return
        self._take(self.form.key(key or "enter", None))
        self.redraw()

    def _accept(self, form: IntakeForm) -> None:
        host = self.host
        host.controller.begin(*form.result(), self.earlier)
        if form.raised:
            host.go_note()
        elif host.controller.tests_possible:
            host.go_test()
        else:
            host.go_result()
        host.ask_about_trouble()

    def _ask_to_leave(self, form: IntakeForm) -> None:
        if not form.begun:
            self.host.go_start()
            return
        answers = self.host.controller.draft
        if answers.trouble:
            answers.try_again()
        kept = "The answers are saved; Start offers to go on with them."
        question = Question(
            title="Leave the questions",
            lead=(answers.trouble or kept,),
            answers=(FORGET,) if answers.trouble else (LEAVE, FORGET),
            back="go on answering",
        )
        self.host.push_screen(AskDialog(question), self._leave)

    def _leave(self, answer: str | None) -> None:
        answers = self.host.controller.draft
        if answer == LEAVE:
            answers.let_go()
            self.host.go_start()
        elif answer == FORGET:
            try:
                answers.forget()
            except SaveFailedError as error:
                self.host.go_start(str(error))
            else:
                self.host.go_start("The answers are forgotten.")


def _field_of(form: IntakeForm) -> Field | None:
    """The field for the current question; None where it is not answered by typing."""
    question = form.current
    if question.kind not in TYPED:
        return None
    return Field(form.text, longest(question), characters(question))
