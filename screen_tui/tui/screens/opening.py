"""Opening: what stands there at once, while the protocols and the other pages are still read."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.tui.drawing.lines import Choice
from screen_tui.tui.drawing.rows import Row
from screen_tui.tui.drawing.start import draw_start
from screen_tui.tui.keybar import KeyHint, key_rows
from screen_tui.tui.screens.page import page_head
from screen_tui.tui.screens.paper import Drawn, Paper

_HINTS = (KeyHint("Enter", "open", 0), KeyHint("n", "new screen", 1), KeyHint("q", "quit", 0))


class OpeningPage(Paper[None]):
    """Looks like Start with nothing in it. It takes no keys: the app keeps them for Start."""

    @property
    def trouble(self) -> str:
        """Nothing has been changed yet that could be lost."""
        return ""

    def head(self) -> tuple[Row, Row]:
        """The program, and that there is more to come."""
        return page_head("Knee screen", "opening")

    def draw(self, width: int, height: int) -> Drawn:
        """Draw the one line that is always there."""
        del height
        rows, focus = draw_start((Choice("", "n", "New screen"),), 0, (), width)
        return Drawn(rows, focus)

    def key_lines(self, width: int) -> Sequence[Row]:
        """The keys that will be taken."""
        return key_rows(_HINTS, width)
