"""The answers of 'Before testing', on disk as long as there is no session to hold them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from screen_tui.errors import FileRefusedError, SaveFailedError
from screen_tui.files.toml import TomlDocument
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.draft import Draft, DraftStore, check_questions
from screen_tui.timing.clock import Clock
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import mismatches, questions_digest


@dataclass(frozen=True, slots=True)
class Waiting:
    """Answers that can be gone on with, to so many of the questions; the label may be missing.

    Where a safety question was answered yes, it is ``refer_first``.
    """

    path: Path
    label: str
    answered: int
    asked: int
    begun: datetime
    refer_first: bool


class DraftController:
    """Writes the form in hand to its draft after every change.

    Attributes:
        failure: The last change, where it is not on disk.
        remark: Something to be said once about where the answers lie; empty otherwise.
    """

    def __init__(self, protocol: ScreenProtocol, folder: Path, clock: Clock) -> None:
        self.failure: SaveFailedError | None = None
        self.remark = ""
        self._protocol = protocol
        self._questions = questions_digest(protocol)
        self._clock = clock
        self._drafts = DraftStore(folder, self._check)
        self._draft: Draft | None = None
        self._in_session = False

    @property
    def trouble(self) -> str:
        """Why the last change is not on disk; empty when it is."""
        return str(self.failure or "")

    def waiting(self) -> tuple[tuple[Waiting, ...], tuple[str, ...]]:
        """Answers that were left, and why others cannot be gone on with."""
        usable = []
        found = self._drafts.found()
        for one in found:
            if one.draft:
                form = self._form(one.draft)
                label, refer = str(form.to_save.get("label", "")), bool(form.raised)
                usable.append(Waiting(one.path, label, *form.progress, one.draft.begun, refer))
        return tuple(usable), tuple(one.problem for one in found if not one.draft)

    def go_on(self, path: Path) -> IntakeForm:
        """Take answers up where they were left.

        Raises:
            ScreenError: Their file is gone or cannot be used; nothing has changed.
        """
        self._draft = self._drafts.open(path)
        self._in_session = False
        return self._form(self._draft)

    @property
    def in_hand(self) -> bool:
        """Whether there is anything that was to be written."""
        return self._draft is not None

    @property
    def follows(self) -> str:
        """The id of the session that the answers in hand are a re-test of; empty for none."""
        return "" if self._draft is None else self._draft.follows

    def keep(self, form: IntakeForm, follows: str = "") -> None:
        """Write the answers, where they have changed; `trouble` says why they are not on disk.

        They may be a re-test of the session of that id.
        """
        if not form.begun:
            try:
                self.forget()
            except SaveFailedError as error:
                self.remark = str(error)
            return
        draft = Draft(
            protocol=self._protocol.battery.id,
            questions=self._questions,
            begun=self._draft.begun if self._draft else self._clock.wall(),
            at=form.at,
            accepted=tuple(q.id for q in form.questions if q.id in form.accepted),
            answers=form.to_save,
            follows=follows,
        )
        if draft != self._draft or self.trouble:
            self._draft = draft
            self.try_again()

    def try_again(self) -> None:
        if self._draft is None:
            return
        try:
            self._drafts.save(self._draft)
        except SaveFailedError as error:
            self.failure = error
            return
        self.failure = None
        if self._drafts.set_aside is not None:
            self.remark = (
                f"Answers that could not be used are now in {self._drafts.set_aside.name}."
            )
            self._drafts.set_aside = None

    def hand_over(self) -> None:
        """A session holds the answers from now on; once it is saved, the draft has no use."""
        self._in_session = True

    def session_saved(self) -> None:
        """Remove the draft whose answers the saved session holds.

        Raises:
            SaveFailedError: It could not be removed.
        """
        if self._in_session:
            self.forget()

    def forget(self) -> None:
        """Remove the answers in hand from disk and memory.

        Raises:
            SaveFailedError: Their file could not be removed.
        """
        self._clear()
        self._drafts.forget()

    def let_go(self) -> None:
        """Have no answers in hand; what is on disk stays there."""
        self._clear()
        self._drafts.let_go()

    def move_to(self, folder: Path) -> None:
        """Save answers in another folder from now on; those in hand are written there at once."""
        self._drafts = DraftStore(folder, self._check)
        self.try_again()

    def take_remark(self) -> str:
        remark, self.remark = self.remark, ""
        return remark

    def _clear(self) -> None:
        self.failure = None
        self._draft = None
        self._in_session = False

    def _check(self, draft: Draft, document: TomlDocument) -> None:
        check_questions(draft, self._protocol.battery.id, self._questions, document)
        found = mismatches(self._protocol, draft.answers, draft.accepted, draft.at)
        if found:
            raise FileRefusedError(tuple(document.problem(*one) for one in found))

    def _form(self, draft: Draft) -> IntakeForm:
        return IntakeForm.restored(self._protocol, draft.answers, draft.accepted, draft.at)
