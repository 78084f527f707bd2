"""The student's answer, before anything of the result is shown."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.tui.commit_form import CommitForm
from screen_tui.tui.drawing.practice import draw_commitment
from screen_tui.tui.drawing.rows import LINE, Row
from screen_tui.tui.keybar import KeyHint
from screen_tui.tui.practising import Practising
from screen_tui.tui.screens.page import Drawn, Page, page_head
from screen_tui.tui.screens.practice_leave import ask_to_leave_practice
from screen_tui.tui.screens.practice_reveal import RevealPage


class CommitPage(Page[None]):
    """Draws the form and hands it the keys; committing is a key of its own at the end."""

    STOPPABLE = False

    def __init__(self, practising: Practising) -> None:
        super().__init__()
        self.practising = practising
        self.form = CommitForm(practising.keeper.protocol)

    def head(self) -> tuple[Row, Row]:
        count = len(self.form.steps)
        place = f"{min(self.form.at + 1, count)} of {count}"
        return page_head("Your answer", place, self.practising.case.patient.label)

    def draw(self, width: int, height: int) -> Drawn:
        del height
        rows, focus = draw_commitment(self.form, width)
        return Drawn(rows, focus)

    @property
    def _back_to_tests(self) -> bool:
        return self.form.at == 0 and self.practising.keeper.tests_possible

    def hints(self) -> Sequence[KeyHint]:
        step = self.form.step
        back = (KeyHint("Backspace", "back", 0),) if self.form.at else ()
        if step is None:
            return (KeyHint("Enter", "commit", 0), *back)
        tests = (KeyHint("b", "tests", 0),) if self._back_to_tests else ()
        leave = (KeyHint("q", "leave", 2),)
        move = KeyHint("↑↓", "move", 1)
        if step.several:
            mark = (KeyHint("Space", "mark", 0), KeyHint("Enter", "go on", 0))
            return (*mark, move, *back, *tests, *leave)
        digits = f"1-{min(len(step.options), 9)}"
        return (
            KeyHint(digits, "choose", 0),
            KeyHint("Enter", "choose", 1),
            move,
            *back,
            *tests,
            *leave,
        )

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(LINE):
            self.form = self.form.pointed_at(int(press.removeprefix(LINE)))
            self.redraw()
        else:
            super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        if self.form.step is None and key == "enter":
            self._commit()
            return True
        if key == "b" and self._back_to_tests:
            self.host.go_test()
            return True
        if key == "q":
            ask_to_leave_practice(self.host)
            return True
        form = self.form.key(key)
        changed = form != self.form
        self.form = form
        return changed

    def _commit(self) -> None:
        self.practising.commitment = self.form.result()
        self.host.switch_screen(RevealPage(self.practising, self.practising.commitment))
