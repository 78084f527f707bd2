"""After the commitment: three answers side by side, the scores, and the run is saved."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from screen_tui.errors import SaveFailedError
from screen_tui.practice.commitment import Commitment
from screen_tui.tui.drawing.practice_reveal import draw_answers, draw_scores
from screen_tui.tui.drawing.rows import Row
from screen_tui.tui.keybar import KeyHint
from screen_tui.tui.practising import Practising
from screen_tui.tui.screens.page import Drawn, Page, page_head


class RevealPage(Page[None]):
    """Shows the answers, then the scores; the run is saved once, when it is first shown."""

    STOPPABLE = False

    def __init__(self, practising: Practising, commitment: Commitment) -> None:
        super().__init__()
        self.practising = practising
        self.commitment = commitment
        self.scored = practising.score(commitment)
        self.run_to_save = practising.finished(commitment, self.scored)
        self.unsaved = ""
        self.page = 1

    def on_mount(self) -> None:
        """Save the run, and draw."""
        self._save()
        super().on_mount()

    def _save(self) -> None:
        self.unsaved = ""
        try:
            self.practising.runs.save(self.run_to_save)
        except SaveFailedError as error:
            self.unsaved = str(error)

    def head(self) -> tuple[Row, Row]:
        title = "Answers" if self.page == 1 else "Scores"
        return page_head(f"{title} {self.page}/2", self.practising.case.title)

    def draw(self, width: int, height: int) -> Drawn:
        del height
        protocol, case = self.practising.keeper.protocol, self.practising.case
        drawing = draw_answers if self.page == 1 else draw_scores
        return Drawn(drawing(protocol, case, self.commitment, self.scored, width))

    def notice(self) -> str:
        return self.unsaved

    def hints(self) -> Sequence[KeyHint]:
        again = (KeyHint("s", "save again", 0),) if self.unsaved else ()
        if self.page == 1:
            return (*again, KeyHint("Enter", "scores", 0))
        return (*again, KeyHint("Enter", "cases", 0), KeyHint("b", "answers", 0))

    def take_key(self, key: str, event: events.Key) -> bool:
        del event
        if key == "s" and self.unsaved:
            self._save()
        elif key == "enter" and self.page == 1:
            self._turn(2)
        elif key == "b" and self.page == 2:
            self._turn(1)
        elif key == "enter":
            self.host.go_practice(
                "" if self.unsaved else "The run is saved; p shows how you get on."
            )
        else:
            return False
        return True

    def _turn(self, page: int) -> None:
        self.page = page
        self.scroll("home")
