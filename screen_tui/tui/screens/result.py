"""Result: what the session means, and on a second page what to do with it."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment
from screen_tui.trial.battery import Item
from screen_tui.tui.drawing.result import MOST_SUGGESTED, draw_answer, draw_plan
from screen_tui.tui.drawing.rows import Row
from screen_tui.tui.drawing.words import how_shown
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.help import HelpScreen


class _AssessedScreen(BaseScreen[None]):
    """A page on what the session means; it is assessed once, since it does not change here."""

    def __init__(self) -> None:
        super().__init__()
        self.assessment: Assessment | None = None

    def on_mount(self) -> None:
        """Assess, and draw."""
        self.assessment = assess(self.host.protocol, self.host.controller.session)
        super().on_mount()

    def head_of(self, title: str) -> tuple[Row, Row]:
        """A title, and whose result it is."""
        controller = self.host.controller
        shown = how_shown(controller.session, read_only=controller.closed)
        return screen_head(title, shown, controller.session.client.label)


class ResultScreen(_AssessedScreen):
    """Shows the answer; a suggested test can be started with its digit."""

    def head(self) -> tuple[Row, Row]:
        return self.head_of("Result 1/2: answer")

    def draw(self, width: int, height: int) -> Drawn:
        if self.assessment is None:
            return Drawn(())
        controller = self.host.controller
        return Drawn(
            draw_answer(
                self.host.protocol,
                controller.session,
                self.assessment,
                width,
                height,
                startable=controller.tests_possible,
            )
        )

    def hints(self) -> Sequence[KeyHint]:
        suggested = self._suggested()
        digits = "1" if suggested == 1 else f"1-{suggested}"
        return (
            KeyHint("Enter", "plan", 0),
            *((KeyHint(digits, "do that test", 2),) if suggested else ()),
            KeyHint("b", "tests" if self.host.controller.tests_possible else "start", 0),
            KeyHint("?", "help", 3),
        )

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        host = self.host
        if key == "enter":
            host.go_plan()
        elif key == "b":
            host.go_test() if host.controller.tests_possible else host.go_start()
        elif key == "?":
            host.push_screen(HelpScreen(host.protocol))
        elif key.isdecimal() and 1 <= int(key) <= self._suggested():
            assert self.assessment is not None
            wanted = self.assessment.next_tests[int(key) - 1]
            host.go_test(Item(wanted.test, wanted.side, wanted.minutes), wanted.cue)
        else:
            return False
        return True

    def _suggested(self) -> int:
        if self.assessment is None or not self.host.controller.tests_possible:
            return 0
        return min(len(self.assessment.next_tests), MOST_SUGGESTED)


class PlanScreen(_AssessedScreen):
    """Shows the plan that goes with the answer."""

    def head(self) -> tuple[Row, Row]:
        return self.head_of("Result 2/2: plan")

    def draw(self, width: int, height: int) -> Drawn:
        del height
        if self.assessment is None:
            return Drawn(())
        host = self.host
        return Drawn(draw_plan(host.protocol, host.controller.session, self.assessment, width))

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("Enter", "note", 0),
            KeyHint("b", "answer", 0),
            KeyHint("?", "help", 3),
        )

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        host = self.host
        if key == "enter":
            host.go_note()
        elif key == "b":
            host.go_result()
        elif key == "?":
            host.push_screen(HelpScreen(host.protocol))
        else:
            return False
        return True
