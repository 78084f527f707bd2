"""Answers before there is a session: it needs a label and an age, so until then they lie here.

A draft is one file in the folder of sessions, ``draft.toml``, ``draft-2.toml`` and so on, saved
like a session (`session.store`), so that each is offered on its own and two windows never write
over each other. One that cannot be used is renamed, never deleted, and only when its name is
needed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Literal

from pydantic import AwareDatetime

from screen_tui.errors import FileRefusedError, ScreenError
from screen_tui.fields import Id, MaybeLine, Strict
from screen_tui.files.toml import TomlDocument, read_own, validate, versioned
from screen_tui.session.folder import is_draft
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
    """A draft of the folder; without one that can be used, ``problem`` says why."""

    id: str
    draft: Draft | None
    problem: str = ""
    open_elsewhere: bool = False


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


def read_draft(path: Path, check: Check) -> tuple[TomlDocument, Draft]:
    """Read a draft of the folder.

    Raises:
        NotFoundError: There is nothing at the path.
        FileRefusedError: It is broken, newer, a link, or does not fit the questions.
    """
    document = read_own(path)
    draft = draft_in(document)
    check(draft, document)
    return document, draft


def is_usable(path: Path, check: Check) -> bool:
    """Whether a draft can be gone on with."""
    try:
        read_draft(path, check)
    except ScreenError:
        return False
    return True


def draft_ids() -> Iterator[str]:
    """What drafts are named, in their order: ``draft``, ``draft-2`` and so on."""
    yield "draft"
    for number in count(2):
        yield f"draft-{number}"


def find_drafts(
    folder: Path, check: Check, open_elsewhere: Callable[[str], bool]
) -> tuple[FoundDraft, ...]:
    """All drafts of a folder, in their order. None when it cannot be read."""
    try:
        paths = [path for path in folder.iterdir() if is_draft(path)]
    except OSError:
        return ()
    found = []
    for path in sorted(paths, key=lambda path: int(path.stem.partition("-")[2] or 1)):
        try:
            _, draft = read_draft(path, check)
        except ScreenError as error:
            found.append(FoundDraft(path.stem, None, str(error)))
        else:
            elsewhere = open_elsewhere(path.stem)
            found.append(FoundDraft(path.stem, draft, open_elsewhere=elsewhere))
    return tuple(found)
