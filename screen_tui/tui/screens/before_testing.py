"""Before testing: the knee and safety, then the history, then who it is; and its answers later."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.protocol.knowledge import Caution
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Intake, Session
from screen_tui.trial.battery import Item, plan_battery, withheld
from screen_tui.trial.intake import IntakeForm, age_so_far, intake_so_far
from screen_tui.trial.intake_questions import CLEAR, TYPED, Part, characters, longest
from screen_tui.tui.drawing.before_testing import (
    QUESTION,
    draw_battery,
    draw_caution,
    draw_questions,
)
from screen_tui.tui.drawing.rows import Row, Span, paragraph, row
from screen_tui.tui.drawing.words import minutes
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import LEAST_COLUMNS, BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.dialogs import AskDialog, Question
from screen_tui.tui.widgets import Field

NO_TO_ALL, NOTHING_ELSE = "0", "-"
"""On the page of safety, and on that of the history, where 0 may be an answer."""
TITLE = "Before testing"
LEAVE = "leave; the answers stay"
FORGET = "forget these answers"
_TITLES: dict[Part, str] = {"safety": "Safety", "history": "History", "person": "Patient"}


class BeforeTestingScreen(BaseScreen[bool | None]):
    """Draws the form and hands it the keys; every change is on disk before the next key.

    Args:
        earlier: The session that this one is a retest of; None for none.
    """

    GUIDE = "before-testing"
    ANY_SIZE = True

    def __init__(self, form: IntakeForm, earlier: Session | None = None, said: str = "") -> None:
        super().__init__()
        self.earlier = earlier
        self.form = form
        self.said = said
        self._seen: dict[str, float] = {}

    def on_mount(self) -> None:
        """Begin where the answers end; a yes that nobody decided on is asked about again."""
        form = self.form
        self.field = _field_of(form)
        super().on_mount()
        if form.at in form.raised and form.at not in form.accepted:
            self._ask_about(form.at)

    def head(self) -> tuple[Row, Row]:
        form = self.form
        place = f"{form.parts.index(form.part) + 1}/{len(form.parts)}"
        answered, asked = form.progress
        total = minutes(sum(item.minutes for item in self.items()))
        tests = "REFER FIRST" if form.raised else f"tests {total}"
        name = _TITLES[form.part]
        title = name if self.size.width < LEAST_COLUMNS else f"{TITLE}: {name.lower()}"
        code = "" if form.at == "label" else str(form.to_save.get("label", ""))
        return screen_head(f"{title} {place}", f"{asked - answered} open", tests, code)

    def draw(self, width: int, height: int) -> Drawn:
        cursor = None if self.field is None else self.field.cursor_position
        return Drawn(draw_questions(self.form.page(), width, height, cursor, self.tests))

    def tests(self, width: int) -> list[Row]:
        """What follows: the tests, or that nobody is to be tested now."""
        if self.form.raised:
            end = f"Enter ends the session with {self.host.after_a_yes}."
            return [row(Span("REFER FIRST", "verdict")), *paragraph(end, width)]
        held_back = withheld(*self._so_far, self.chosen)
        return draw_battery(self.host.protocol, self.items(), held_back, width)

    @property
    def chosen(self) -> frozenset[str]:
        return frozenset()

    def items(self) -> tuple[Item, ...]:
        return plan_battery(*self._so_far, self.chosen)

    @property
    def _so_far(self) -> tuple[ScreenProtocol, Intake, int | None]:
        return self.host.protocol, intake_so_far(self.form), age_so_far(self.form)

    def redraw(self) -> None:
        super().redraw()
        now = self.host.clock.monotonic()
        for line in self._shown.get("body", ()):
            for span in line:
                if span.press.startswith(QUESTION):
                    self._seen.setdefault(span.press.removeprefix(QUESTION), now)

    def hints(self) -> Sequence[KeyHint]:
        form, current = self.form, self.form.current
        keys = current.keys_in_short
        leave_open = (KeyHint("Enter", current.left_open, 0),) if current.optional else ()
        clear = (KeyHint(CLEAR, "cleared", 0),) if form.at in form.raised else ()
        end = "end, answer" if self.host.practising else "end, note"
        begin = end if form.raised else "begin"
        yes, no = ("it is so", "change") if current.doubt else ("yes", "no")
        own = {
            "yes-no": (KeyHint("y", yes, 0), KeyHint("n", no, 0), *clear, *leave_open),
            "choice": (KeyHint(keys, "choose", 0), *leave_open),
            "several": (KeyHint(keys, "mark", 0), KeyHint("Enter", "next", 0)),
            "number": (KeyHint("Enter", "accept", 0),),
            "text": (KeyHint("Enter", "accept", 0),),
            "ready": (KeyHint("Enter", begin, 0),),
        }[current.kind]
        back = KeyHint("Backspace", "delete, back" if current.kind in TYPED else "undo", 1)
        about = "detail" if current.caution else "help"
        letters = () if self.typing_now else (KeyHint("?", about, 3), self.leave_hint())
        return (*own, *self._silence(), back, KeyHint("↑↓", "move", 4), *letters)

    def leave_hint(self) -> KeyHint:
        return KeyHint("q", "leave", 2)

    def _silence(self) -> Sequence[KeyHint]:
        """The key that answers that there is nothing else, where it has a meaning."""
        if self.typing_now or not self.form.may_be_silent():
            return ()
        if self.form.part == "safety":
            return (KeyHint(NO_TO_ALL, "no to all open", 0),)
        return (KeyHint(NOTHING_ELSE, "none to all open", 0),)

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(QUESTION):
            self._take(self.form.go_to(press.removeprefix(QUESTION)))
            self.redraw()
        else:
            super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        if key == "?" and not self.typing_now:
            self._show_detail()
            return True
        if key == "q" and not self.typing_now:
            self._ask_to_leave()
            return True
        if any(hint.key == key for hint in self._silence()):
            self._nothing_else(event.time)
            return True
        before = self.form.raised
        form = self.form.key(event.key, event.character)
        if form == self.form:
            self.said = self._why_nothing(key)
            return bool(self.said)
        self._take(form)
        new = [caution for caution in form.raised if caution not in before]
        if new:
            self._ask_about(new[0])
        elif form.done:
            self._accept(form)
        return True

    def _why_nothing(self, key: str) -> str:
        """Why a digit changes nothing; "" for other keys."""
        question = self.form.current
        if not key.isdecimal() or question.kind in TYPED:
            return ""
        if question.kind != "ready" and question.option_of(key) is not None:
            return f"{key}: this is the answer already."
        answers = {"yes-no": "y or n answers this", "ready": "Enter continues"}
        return f"{key}: {answers.get(question.kind, f'{question.keys_in_short} answers this')}."

    def _nothing_else(self, when: float) -> None:
        """Answer all that is open, where each line of it was on the screen before the key."""
        form = self.form
        seen = [question for question, since in self._seen.items() if since <= when]
        after = form.nothing_else(seen)
        self._take(after)
        if after.answers == form.answers and after.accepted == form.accepted:
            self.said = "Read these lines as well, then press it again."

    def typed(self) -> None:
        if self.field is not None and self.field.value != self.form.text:
            self._take(self.form.with_text(self.field.value))

    def _show_detail(self) -> None:
        if self.form.current.caution:
            self.host.push_screen(CautionScreen(self.host.protocol.caution(self.form.at)))
        else:
            self.host.show_help()

    def _take(self, form: IntakeForm) -> None:
        if form.at != self.form.at:
            self.field = _field_of(form)
        self.form = form
        self._keep(form)

    def _keep(self, form: IntakeForm) -> None:
        self.host.controller.keep_answers(form, self.earlier)
        self.said = self.host.controller.take_remark()

    def _ask_about(self, raised: str) -> None:
        page = ReferFirstScreen(self.host.protocol.caution(raised), self.form)
        self.host.push_screen(page, self._after_refer)

    def _after_refer(self, key: str | None) -> None:
        self._take(self.form.key(key or "enter", None))
        if self.form.done:
            self._accept(self.form)
        self.redraw()

    def _begin(self, form: IntakeForm) -> None:
        self.host.controller.begin(*form.result(), self.earlier)

    def _accept(self, form: IntakeForm) -> None:
        host = self.host
        self._begin(form)
        if form.raised:
            host.go_note()
        elif host.controller.tests_possible:
            host.go_test()
        else:
            host.go_result()
        host.ask_about_trouble()

    def _ask_to_leave(self) -> None:
        controller = self.host.controller
        if not (self.form.begun and controller.answers):  # of a retest much is answered beforehand
            self.host.go_start()
            return
        if not controller.answers_saved:
            controller.save()
        saved = controller.answers_saved
        lead = (
            "The answers are saved; Start offers to resume them." if saved else controller.trouble
        )
        offered = (LEAVE, FORGET) if saved else (FORGET,)
        back = "continue answering"
        question = Question("Leave the questions", (lead,), offered, back=back)
        self.host.ask(AskDialog(question), self._leave)

    def _leave(self, answer: str) -> None:
        forgotten = answer == FORGET and self.host.controller.forget_answers()
        self.host.go_start("The answers are forgotten." if forgotten else "")


class CautionScreen(BaseScreen[str]):
    """Shows all there is to one safety question."""

    GUIDE = "before-testing"
    ANY_SIZE = True

    def __init__(self, caution: Caution) -> None:
        super().__init__()
        self.caution = caution

    def head(self) -> tuple[Row, Row]:
        return screen_head("Safety", "detail")

    def draw(self, width: int, height: int) -> Drawn:
        return Drawn(draw_caution(self.host.protocol, self.caution, width))

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("b", "back", 0, self.go_back, also=("enter", "backspace", "q")),
            KeyHint("?", "help", 1, self.host.show_help),
        )


def _field_of(form: IntakeForm) -> Field | None:
    question = form.current
    if question.kind not in TYPED:
        return None
    return Field(form.text, longest(question), characters(question))


class ReferFirstScreen(CautionScreen):
    """Says what the answer yes means and what comes next.

    It is dismissed with the key that the questions then take: ``backspace`` when the answer is
    undone, ``c`` when it is known and cleared, ``enter`` when it holds.
    """

    def __init__(self, caution: Caution, form: IntakeForm) -> None:
        super().__init__(caution)
        self.form = form

    def head(self) -> tuple[Row, Row]:
        return screen_head("Safety", "no test now")

    def draw(self, width: int, height: int) -> Drawn:
        return Drawn(draw_caution(self.host.protocol, self.caution, width, raised=True))

    def notice(self) -> str:
        if not self.form.current.emergency:
            return f"Enter: no tests; what is open, then to {self.host.after_a_yes}."
        known = self.form.key("enter", None).done
        asked = "" if known else " but whose note it is"
        return f"Enter: no test and no question{asked}; then to {self.host.after_a_yes}."

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("Enter", "refer first", 0, lambda: self.dismiss("enter")),
            KeyHint(CLEAR, "known and cleared", 0, lambda: self.dismiss(CLEAR)),
            KeyHint("b", "undo the yes", 0, lambda: self.dismiss("backspace"), also=("backspace",)),
        )


class AnswersScreen(BeforeTestingScreen):
    """Shows what was answered and changes it; each answer is saved once the form is complete.

    It is dismissed with whether anything was changed.
    """

    def __init__(self, form: IntakeForm) -> None:
        super().__init__(form)
        self._changed = False

    def leave_hint(self) -> KeyHint:
        return KeyHint("q", "back", 0)

    def take_key(self, key: str, event: events.Key) -> bool:
        # The key that opened the page closes it, too, as does that which leads back elsewhere,
        # where it is no answer.
        answers = self.form.current.option_of(key) is not None
        if key in ("a", "b") and not self.typing_now and not answers:
            key = "q"
        return super().take_key(key, event)

    def _take(self, form: IntakeForm) -> None:
        moved = form.at != self.form.at
        super()._take(form)
        # What is half typed may be possible and not meant.
        if moved or form.current.kind not in TYPED:
            self._save(form)

    def _keep(self, form: IntakeForm) -> None:
        self.said = ""

    def _save(self, form: IntakeForm) -> None:
        if form.tellable and self.host.controller.change_answers(*form.result()):
            self._changed = True

    def _after_refer(self, key: str | None) -> None:
        super()._after_refer(key)
        if self.form.raised and key == "enter" and not self.form.done:
            self._accept(self.form)

    def _accept(self, form: IntakeForm) -> None:
        self._save(form)
        self.dismiss(self._changed)

    def _ask_to_leave(self) -> None:
        if self.form.complete:
            self._accept(self.form)
            return
        self._take(self.form.go_to(self.form.missing[0]).key("enter", None))
        self.said = "This answer is still needed."
