"""The note and the patient's sheet: read here before they are written to a file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from screen_tui.engine.assess import assess
from screen_tui.errors import ScreenError
from screen_tui.files.write import write_text
from screen_tui.report.answer import WITHOUT_COMPLAINT, without_complaint
from screen_tui.report.layout import PAPER
from screen_tui.report.note import write_note
from screen_tui.report.patient_sheet import WIDTH, write_patient_sheet
from screen_tui.session.model import Session
from screen_tui.tui.drawing.rows import row
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import Drawn, SessionScreen
from screen_tui.tui.screens.dialogs import MOST_OF_A_PATH, AskDialog, Question
from screen_tui.written_papers import SUFFIXES, Paper, usual_path


class _PaperScreen(SessionScreen):
    """A text for the record or for the patient, that can be written to a file."""

    GUIDE = "note"
    KIND: Paper = "note"
    COLUMNS = PAPER
    """Columns of the text as it is written."""
    ABOUT = ""
    """What to know before it is written."""

    def __init__(self) -> None:
        super().__init__()
        self.text = ""
        self._narrow: dict[int, str] = {}

    def composed(self, width: int) -> str:
        """The text as the session has it now, in lines of at most so many columns."""
        raise NotImplementedError

    def compose_text(self) -> None:
        self.text = self.composed(self.COLUMNS)
        self._narrow.clear()

    def on_mount(self) -> None:
        self.compose_text()
        super().on_mount()

    @property
    def usual_path(self) -> Path:
        """Where it goes unless another place is typed."""
        controller = self.host.controller
        return usual_path(controller.store.folder, controller.session.id, SUFFIXES[self.KIND])

    def draw(self, width: int, height: int) -> Drawn:
        text = self.text
        if width < self.COLUMNS:
            if width not in self._narrow:
                self._narrow[width] = self.composed(width)
            text = self._narrow[width]
        return Drawn([row(line) for line in text.rstrip("\n").split("\n")])

    def ask_where(self) -> None:
        question = Question(
            title=f"Write the {self.heading.lower()}",
            lead=(f"{self.ABOUT} Where is it to go?",),
            answers=(str(self.usual_path),),
            own_words="another place, its path typed",
            most=MOST_OF_A_PATH,
        )
        self.host.ask(AskDialog(question), self._write)

    def as_written(self) -> str:
        return self.text

    def once_written(self) -> None:
        """Do what it means for the session that it was written."""

    def _write(self, answer: str) -> None:
        """Write the text where it was asked for; only what lies in its usual place is replaced."""
        try:
            self.said = f"Written to {write_text(answer, self.as_written(), self.usual_path)}"
        except ScreenError as error:
            self.said = str(error)
        else:
            self.once_written()
        self.redraw()
        self.host.ask_about_trouble()


class NoteScreen(_PaperScreen):
    """Shows the note; w writes it, y copies it, f adds the appendix, Enter finishes the session."""

    heading = "Note"
    ABOUT = "The note names the patient code, the age and the findings."

    def __init__(self) -> None:
        super().__init__()
        self.full = False

    def on_mount(self) -> None:
        super().on_mount()
        if self.host.controller.session.intake.cautions:
            self.said = "REFER FIRST. w writes the note to a file; Enter ends the session."
            self.redraw()

    def composed(self, width: int) -> str:
        return self._note_of(self.host.controller.session, width)

    def _note_of(self, session: Session, width: int) -> str:
        protocol, now = self.host.protocol, self.host.clock.wall()
        found, earlier = assess(protocol, session), self.host.controller.earlier_visits
        full = self.full
        return write_note(protocol, session, found, now, full=full, width=width, earlier=earlier)

    def hints(self) -> Sequence[KeyHint]:
        finish = self.host.way_out if self.host.controller.closed else "finish"
        return (
            KeyHint("w", "write to a file", 0, self.ask_where),
            *((KeyHint("y", "copy", 1, self._copy),) if self.host.settings.clipboard else ()),
            KeyHint("f", "short" if self.full else "in full", 1, self._turn),
            KeyHint("p", "patient's sheet", 1, self.host.go_sheet),
            KeyHint("Enter", finish, 0, self._finish),
            KeyHint("b", "plan", 0, self.host.go_plan),
            KeyHint("?", "help", 3, self.host.show_help),
        )

    def _turn(self) -> None:
        self.full = not self.full
        self.compose_text()
        self.scroll("home")

    def as_written(self) -> str:
        # A note in the record is the note of a finished session; another test opens it again.
        session = self.host.controller.session
        if session.finished is None:
            session = session.model_copy(update={"finished": self.host.clock.wall()})
        return self._note_of(session, self.COLUMNS)

    def once_written(self) -> None:
        self.host.controller.finish()
        self.compose_text()

    def _copy(self) -> None:
        """Hand the note to the terminal for its clipboard; no terminal says whether it took it."""
        self.once_written()
        self.host.copy_to_clipboard(self.text)
        self.said = "Copied, where this terminal allows it."
        self.redraw()
        self.host.ask_about_trouble()

    def _finish(self) -> None:
        controller = self.host.controller
        if controller.read_only:
            self.host.leave_session()
            return
        controller.finish()
        finished = f"{controller.session.client.label} is finished and saved."
        # One that is not saved waits in memory; the next person need not.
        self.host.go_start(finished if controller.saved else "")
        self.host.ask_about_trouble()


class SheetScreen(_PaperScreen):
    """Shows the sheet that the patient takes home."""

    heading = "Patient's sheet"
    ABOUT = "A sheet to take home, in plain words, without the patient code."
    KIND: Paper = "sheet"
    COLUMNS = WIDTH

    def on_mount(self) -> None:
        """Compose the text and draw it; a sheet for the other leg is not handed out unread."""
        super().on_mount()
        session = self.host.controller.session
        if without_complaint(session, assess(self.host.protocol, session)):
            self.said = f"{WITHOUT_COMPLAINT} Read the sheet before you hand it out."
            self.redraw()

    def composed(self, width: int) -> str:
        protocol, session = self.host.protocol, self.host.controller.session
        return write_patient_sheet(protocol, session, assess(protocol, session), width=width)

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("w", "write to a file", 0, self.ask_where),
            KeyHint("b", "note", 0, self.host.go_note),
            KeyHint("?", "help", 3, self.host.show_help),
        )
