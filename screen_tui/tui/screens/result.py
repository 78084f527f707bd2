"""The answer, its details and the plan: three pages on what the session means."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment
from screen_tui.report.answer import MOST_SUGGESTED, details_document
from screen_tui.report.plan import plan_document
from screen_tui.report.visits import changes_in_short
from screen_tui.trial.battery import Item
from screen_tui.tui.drawing.document import draw_answer, draw_document
from screen_tui.tui.drawing.rows import Row
from screen_tui.tui.keys import KeyHint, digits
from screen_tui.tui.screens.base import Drawn, SessionScreen


class _ResultScreen(SessionScreen):
    """A page on what the session means; it is assessed once, since it does not change here."""

    GUIDE = "answer"
    DOCUMENT = staticmethod(details_document)

    def __init__(self) -> None:
        super().__init__()
        self.assessment: Assessment | None = None
        self._drawn_for: dict[tuple[int, int], Drawn] = {}

    def on_mount(self) -> None:
        self.assessment = assess(self.host.protocol, self.host.controller.session)
        super().on_mount()

    def draw(self, width: int, height: int) -> Drawn:
        if self.assessment is None:
            return Drawn(())
        if (width, height) not in self._drawn_for:
            rows = self.rows(self.assessment, width, height)
            self._drawn_for[width, height] = Drawn(rows)
        return self._drawn_for[width, height]

    def rows(self, assessment: Assessment, width: int, height: int) -> Sequence[Row]:
        """The page for a width; ``height`` rows of it are in sight."""
        protocol = self.host.protocol
        document = self.DOCUMENT(protocol, self.host.controller.session, assessment)
        return draw_document(protocol, document, width)


class ResultScreen(_ResultScreen):
    """Shows the answer on one page; a suggested test can be started with its digit."""

    heading = "Answer 1/3"

    def rows(self, assessment: Assessment, width: int, height: int) -> Sequence[Row]:
        protocol, controller = self.host.protocol, self.host.controller
        earlier, session = controller.earlier_visits, controller.session
        changed = changes_in_short(protocol, earlier, session, beyond=True)
        return draw_answer(protocol, controller.session, assessment, width, height, changed)

    def hints(self) -> Sequence[KeyHint]:
        host, count = self.host, self._suggested()
        back, where = (
            (host.go_test, "tests")
            if host.controller.tests_possible
            else (host.leave_session, host.way_out)
        )
        return (
            KeyHint("Enter", "plan", 0, host.go_plan),
            KeyHint("d", "details", 1, host.go_details),
            KeyHint("w", "note", 1, host.go_note),
            KeyHint("p", "sheet", 2, host.go_sheet),
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


class DetailsScreen(_ResultScreen):
    """Shows everything the answer rests on."""

    heading = "Details 2/3"

    def hints(self) -> Sequence[KeyHint]:
        host = self.host
        return (
            KeyHint("Enter", "plan", 0, host.go_plan),
            KeyHint("b", "answer", 0, host.go_result),
            KeyHint("?", "help", 3, host.show_help),
        )


class PlanScreen(_ResultScreen):
    """Shows the plan that goes with the answer."""

    heading = "Plan 3/3"
    DOCUMENT = staticmethod(plan_document)

    def hints(self) -> Sequence[KeyHint]:
        host = self.host
        return (
            KeyHint("Enter", "note", 0, host.go_note),
            *((KeyHint("e", "edit", 0, host.go_edit_plan),) if self._editable else ()),
            KeyHint("p", "sheet", 1, host.go_sheet),
            KeyHint("b", "answer", 0, host.go_result),
            KeyHint("?", "help", 3, host.show_help),
        )

    @property
    def _editable(self) -> bool:
        """Whether there is a plan to edit, and a session to save it in."""
        controller, found = self.host.controller, self.assessment
        if found is None or found.outcome == "refer-first":
            return False
        return not controller.session.stopped and not controller.closed
