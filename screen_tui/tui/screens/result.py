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
from screen_tui.tui.keys import KeyHint, digits
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head


class _ResultScreen(BaseScreen[None]):
    """A page on what the session means; it is assessed once, since it does not change here."""

    GUIDE = "answer"
    TITLE_HERE = ""

    def __init__(self) -> None:
        super().__init__()
        self.assessment: Assessment | None = None

    def on_mount(self) -> None:
        """Assess, and draw."""
        self.assessment = assess(self.host.protocol, self.host.controller.session)
        super().on_mount()

    def head(self) -> tuple[Row, Row]:
        controller = self.host.controller
        shown = how_shown(controller.session, read_only=controller.closed)
        return screen_head(self.TITLE_HERE, shown, controller.session.client.label)


class ResultScreen(_ResultScreen):
    """Shows the answer; a suggested test can be started with its digit."""

    TITLE_HERE = "Result 1/2: answer"

    def draw(self, width: int, height: int) -> Drawn:
        if self.assessment is None:
            return Drawn(())
        host = self.host
        return Drawn(
            draw_answer(
                host.protocol,
                host.controller.session,
                self.assessment,
                width,
                height,
                startable=host.controller.tests_possible,
            )
        )

    def hints(self) -> Sequence[KeyHint]:
        host, count = self.host, self._suggested()
        back, where = (
            (host.go_test, "tests") if host.controller.tests_possible else (host.go_start, "start")
        )
        return (
            KeyHint("Enter", "plan", 0, host.go_plan),
            *((KeyHint(digits(count), "do that test", 2),) if count else ()),
            KeyHint("b", where, 0, back),
            KeyHint("?", "help", 3, host.show_help),
        )

    def take_key(self, key: str, event: events.Key) -> bool:
        if self.assessment and key.isdecimal() and 1 <= int(key) <= self._suggested():
            wanted = self.assessment.next_tests[int(key) - 1]
            self.host.go_test(Item(wanted.test, wanted.side, wanted.minutes), wanted.cue)
            return True
        return super().take_key(key, event)

    def _suggested(self) -> int:
        if self.assessment is None or not self.host.controller.tests_possible:
            return 0
        return min(len(self.assessment.next_tests), MOST_SUGGESTED)


class PlanScreen(_ResultScreen):
    """Shows the plan that goes with the answer."""

    TITLE_HERE = "Result 2/2: plan"

    def draw(self, width: int, height: int) -> Drawn:
        del height
        if self.assessment is None:
            return Drawn(())
        host = self.host
        return Drawn(draw_plan(host.protocol, host.controller.session, self.assessment, width))

    def hints(self) -> Sequence[KeyHint]:
        host = self.host
        return (
            KeyHint("Enter", "note", 0, host.go_note),
            KeyHint("b", "answer", 0, host.go_result),
            KeyHint("?", "help", 3, host.show_help),
        )
