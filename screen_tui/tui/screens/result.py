"""Result: what the session means, and what to do next."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment
from screen_tui.flow.battery import Item
from screen_tui.tui.drawing.result import MOST_SUGGESTED, draw_result
from screen_tui.tui.drawing.rows import Row
from screen_tui.tui.keybar import KeyHint
from screen_tui.tui.screens.help import HelpPage
from screen_tui.tui.screens.page import Drawn, Page, page_head


class ResultPage(Page[None]):
    """Shows the assessment; a suggested test can be started with its digit."""

    def __init__(self) -> None:
        super().__init__()
        self.assessment: Assessment | None = None

    def on_mount(self) -> None:
        """Assess once; the session does not change here."""
        self.assessment = assess(self.host.protocol, self.host.keeper.session)
        super().on_mount()

    def head(self) -> tuple[Row, Row]:
        """Whose result it is."""
        keeper = self.host.keeper
        invented = "INVENTED, read-only" if keeper.read_only else ""
        return page_head("Result", invented, keeper.session.client.label)

    def draw(self, width: int, height: int) -> Drawn:
        """Draw the assessment."""
        del height
        if self.assessment is None:
            return Drawn(())
        keeper = self.host.keeper
        return Drawn(
            draw_result(
                self.host.protocol,
                self.assessment,
                width,
                startable=keeper.tests_possible,
                stopped=keeper.session.stopped,
            )
        )

    def hints(self) -> Sequence[KeyHint]:
        """The ways on."""
        suggested = self._suggested()
        digits = "1" if suggested == 1 else f"1-{suggested}"
        return (
            KeyHint("Enter", "note", 0),
            *((KeyHint(digits, "do that test", 2),) if suggested else ()),
            KeyHint("b", "tests" if self.host.keeper.tests_possible else "start", 0),
            KeyHint("?", "help", 3),
        )

    def take_key(self, key: str, event: events.Key) -> bool:
        """Go on, go back, or start a suggested test."""
        del event
        host = self.host
        if key == "enter":
            host.go_note()
        elif key == "b":
            host.go_test() if host.keeper.tests_possible else host.go_start()
        elif key == "?":
            host.push_screen(HelpPage(host.protocol))
        elif key.isdecimal() and 1 <= int(key) <= self._suggested():
            assert self.assessment is not None
            wanted = self.assessment.next_tests[int(key) - 1]
            host.go_test(Item(wanted.test, wanted.side, wanted.minutes), wanted.cue)
        else:
            return False
        return True

    def _suggested(self) -> int:
        if self.assessment is None or not self.host.keeper.tests_possible:
            return 0
        return min(len(self.assessment.next_tests), MOST_SUGGESTED)
