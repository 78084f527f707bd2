"""Note: the text for the record, and writing it to a file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from screen_tui.engine.assess import assess
from screen_tui.errors import ScreenError
from screen_tui.files.write import write_text
from screen_tui.report.note import write_note
from screen_tui.report.patient_sheet import write_patient_sheet
from screen_tui.tui.drawing.result import draw_note
from screen_tui.tui.drawing.rows import Row
from screen_tui.tui.drawing.words import how_shown
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.dialogs import MOST_OF_A_PATH, AskDialog, Question


class NoteScreen(BaseScreen[None]):
    """Shows the note; w writes it, Enter finishes the screen."""

    GUIDE = "note"

    def __init__(self) -> None:
        super().__init__()
        self.text = ""

    def on_mount(self) -> None:
        """Compose the text and draw it."""
        self.compose_text()
        if self.host.controller.session.intake.cautions:
            self.said = "REFER FIRST. w writes the note to a file; Enter ends the screen."
        super().on_mount()

    def compose_text(self) -> None:
        """Say in the note what the session says now."""
        controller = self.host.controller
        assessment = assess(self.host.protocol, controller.session)
        written = self.host.clock.wall()
        self.text = write_note(
            self.host.protocol,
            controller.session,
            assessment,
            written,
            earlier=controller.earlier_visits,
        )

    @property
    def usual_path(self) -> Path:
        """Where the note goes unless another place is typed."""
        controller = self.host.controller
        return controller.store.folder / "notes" / f"{controller.session.id}.txt"

    def head(self) -> tuple[Row, Row]:
        controller = self.host.controller
        shown = how_shown(controller.session, read_only=controller.closed)
        return screen_head("Note", shown, controller.session.client.label)

    def draw(self, width: int, height: int) -> Drawn:
        del height
        return Drawn(draw_note(self.text, width))

    def hints(self) -> Sequence[KeyHint]:
        finish = "start" if self.host.controller.closed else "finish"
        return (
            KeyHint("w", "write to a file", 0, self._ask_where),
            KeyHint("p", "patient's sheet", 1, self._ask_where_the_sheet_goes),
            KeyHint("Enter", finish, 0, self._finish),
            KeyHint("b", "plan", 0, self.host.go_plan),
            KeyHint("?", "help", 3, self.host.show_help),
        )

    def _ask_where(self) -> None:
        question = Question(
            title="Write the note",
            lead=("The note names the label, the age and the findings. Where is it to go?",),
            answers=(str(self.usual_path),),
            own_words="another place, its path typed",
            most=MOST_OF_A_PATH,
        )
        self.host.push_screen(AskDialog(question), self._write)

    @property
    def usual_sheet_path(self) -> Path:
        """Where the patient's sheet goes unless another place is typed."""
        return self.usual_path.with_name(f"{self.host.controller.session.id}-patient.txt")

    def _ask_where_the_sheet_goes(self) -> None:
        question = Question(
            title="The patient's sheet",
            lead=(
                "A sheet to take home, in plain words: the exercises, when to stop, when to call. "
                "It bears no label. Read it before you hand it out. Where is it to go?",
            ),
            answers=(str(self.usual_sheet_path),),
            own_words="another place, its path typed",
            most=MOST_OF_A_PATH,
        )
        self.host.push_screen(AskDialog(question), self._write_sheet)

    def _write_sheet(self, answer: str | None) -> None:
        if answer is None:
            return
        protocol, session = self.host.protocol, self.host.controller.session
        text = write_patient_sheet(protocol, session, assess(protocol, session))
        self._save(answer, text, self.usual_sheet_path)

    def _write(self, answer: str | None) -> None:
        if answer is None:
            return
        # A note in the record is the note of a finished screen; another test opens it again.
        self.host.controller.finish()
        self.compose_text()
        self._save(answer, self.text, self.usual_path)
        self.host.ask_about_trouble()

    def _save(self, typed: str, text: str, usual: Path) -> None:
        """Write a text where it was asked for; only what lies in its usual place is replaced."""
        try:
            self.said = f"Written to {write_text(typed, text, usual)}"
        except ScreenError as error:
            self.said = str(error)
        self.redraw()

    def _finish(self) -> None:
        controller = self.host.controller
        if controller.read_only:
            self.host.go_start()
            return
        controller.finish()
        finished = f"{controller.session.client.label} is finished and saved."
        # One that is not saved waits in memory; the next person need not.
        self.host.go_start(finished if controller.saved else "")
        self.host.ask_about_trouble()
