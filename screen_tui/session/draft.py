"""Answers before there is a session: it needs a label and an age, so until then they lie here.

A process writes one draft, ``draft.toml`` in the folder of sessions. It belongs to the process
that wrote or opened it: where the file holds what another program wrote, that file is left alone
and ours goes on under the next free name, ``draft-2.toml`` and so on. Two programs at once thus
never write over each other, without a lock that a killed program would leave behind; each draft is
offered on its own. A draft that cannot be used is renamed, never deleted, and only when its name
is needed.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Literal

from pydantic import AwareDatetime

from screen_tui.errors import FileRefusedError, SaveFailedError, ScreenError
from screen_tui.fields import Id, MaybeLine, Strict
from screen_tui.files.toml import TomlDocument, read_own, validate, versioned
from screen_tui.files.toml_write import dump_toml
from screen_tui.files.write import changed_since, why_refused, write_whole
from screen_tui.session.folder import KnownFolder, is_draft
from screen_tui.session.model import SessionId

DRAFT_FORMAT = 1


class Draft(Strict):
    """The questions before testing as far as they are answered.

    Attributes:
        questions: The digest of the questions that were answered.
        at: The id of the question that is answered next.
        accepted: Ids of the questions passed with Enter.
        answers: By question id: yes or no, an option, several, or what was typed so far.
        follows: The id of the session that is to be followed by a re-test; empty for none.
    """

    format: Literal[1] = 1
    protocol: Id
    questions: str
    begun: AwareDatetime
    at: str
    accepted: tuple[str, ...] = ()
    answers: dict[str, bool | MaybeLine | tuple[str, ...]]
    follows: Literal[""] | SessionId = ""


Check = Callable[[Draft, TomlDocument], None]
"""Raises FileRefusedError when a draft does not fit the questions that are asked now."""


@dataclass(frozen=True, slots=True)
class FoundDraft:
    """A draft file of the folder; without a draft, ``problem`` says why it cannot be used."""

    path: Path
    draft: Draft | None
    problem: str = ""


def draft_in(document: TomlDocument) -> Draft:
    """The draft a document holds.

    Raises:
        FileRefusedError: It is broken or was written by a newer program.
    """
    versioned(document, "format", DRAFT_FORMAT, "these answers come")
    return validate(document, Draft)


def check_questions(draft: Draft, protocol: str, questions: str, document: TomlDocument) -> None:
    """Check that the answers were given to the questions that are asked now, word for word.

    Raises:
        FileRefusedError: They were given to others.
    """
    for field, wanted in (("protocol", protocol), ("questions", questions)):
        if getattr(draft, field) != wanted:
            reason = (
                "the questions have changed since these answers were given, so they cannot be "
                "resumed; they can be read in this file"
            )
            raise FileRefusedError((document.problem((field,), reason),))


class DraftStore:
    """Keeps the draft of this process, and finds those that were left.

    Attributes:
        set_aside: The new name of a draft that could not be used and whose name was needed; None
            when there was none.
    """

    def __init__(self, folder: Path, check: Check) -> None:
        self.folder = folder
        self.set_aside: Path | None = None
        self._check = check
        self._place = KnownFolder(folder)
        self._own: Path | None = None
        self._known: set[str] = set()

    def found(self) -> tuple[FoundDraft, ...]:
        """All drafts of the folder, by name. None when the folder cannot be read."""
        try:
            paths = [path for path in self.folder.iterdir() if is_draft(path)]
        except OSError:
            return ()
        return tuple(self._look_at(path) for path in sorted(paths, key=_number))

    def open(self, path: Path) -> Draft:
        """Take over a draft; further saves go to its file.

        Raises:
            ScreenError: It is gone or cannot be used; nothing has changed.
        """
        document = read_own(path)
        draft = draft_in(document)
        self._check(draft, document)
        self._place.see()
        self._own, self._known = path, {document.digest}
        return draft

    def save(self, draft: Draft) -> None:
        """Write the draft of this process, whole at every moment.

        Raises:
            SaveFailedError: The disk refused; what was saved before is as it was.
        """
        content = dump_toml(draft.model_dump()).encode()
        try:
            self._place.make()
            if self._own is None or changed_since(self._own, self._known):
                self._own = self._free_path()
                self._known = set()
            # Known before it is written: the last step may fail when the file is already there.
            digest = hashlib.sha256(content).hexdigest()
            self._known.add(digest)
            write_whole(self._own, content)
        except OSError as error:
            cause, _ = why_refused(error)
            raise SaveFailedError(
                f"The answers are not saved in {self.folder}: {cause}.",
                "They stay in memory while the program is open; each further key tries again.",
            ) from error
        self._known = {digest}

    def let_go(self) -> None:
        """Leave the file where it is; the next save begins another one."""
        self._own, self._known = None, set()

    def forget(self) -> None:
        """Remove the draft of this process, unless another program has written into it since.

        Raises:
            SaveFailedError: The disk refused; the draft will be offered again.
        """
        own = self._own
        try:
            if own is not None and not changed_since(own, self._known):
                own.unlink(missing_ok=True)
        except OSError as error:
            cause, _ = why_refused(error)
            raise SaveFailedError(
                f"The draft {own} could not be removed: {cause}. Its answers are offered again."
            ) from error
        self.let_go()

    def _look_at(self, path: Path) -> FoundDraft:
        try:
            document = read_own(path)
            draft = draft_in(document)
            self._check(draft, document)
        except ScreenError as error:
            return FoundDraft(path, None, str(error))
        return FoundDraft(path, draft)

    def _free_path(self) -> Path:
        """A name for a new draft: the first that is free, or whose draft is of no use."""
        for number in count(1):
            path = self.folder / ("draft.toml" if number == 1 else f"draft-{number}.toml")
            if not os.path.lexists(path):
                return path
            if self._look_at(path).draft is None:
                self.set_aside = _set_aside(path)
                return path
        raise AssertionError("counting does not end")


def _set_aside(path: Path) -> Path:
    targets = (path.with_name(f"{path.name}.unusable-{number}") for number in count(1))
    return path.rename(next(target for target in targets if not os.path.lexists(target)))


def _number(path: Path) -> int:
    return int("".join(character for character in path.stem if character.isdigit()) or 1)
