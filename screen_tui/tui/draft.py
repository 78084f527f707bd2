"""A draft of answers as the form it is of, and the form as the draft that is saved."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from screen_tui.errors import FileRefusedError
from screen_tui.files.toml import TomlDocument
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.draft import Check, Draft, check_questions
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import mismatches, questions_digest


@dataclass(frozen=True, slots=True)
class Waiting:
    """Answers that can be gone on with."""

    id: str
    form: IntakeForm
    begun: datetime
    open_elsewhere: bool


def draft_of(protocol: ScreenProtocol, form: IntakeForm, begun: datetime, follows: str) -> Draft:
    """The answers of a form; they may be a re-test of the session of the id ``follows``."""
    return Draft(
        protocol=protocol.battery.id,
        questions=questions_digest(protocol),
        begun=begun,
        at=form.at,
        accepted=tuple(q.id for q in form.questions if q.id in form.accepted),
        answers=form.to_save,
        follows=follows,
    )


def form_in(protocol: ScreenProtocol, draft: Draft) -> IntakeForm:
    """The form as it was left."""
    return IntakeForm.restored(protocol, draft.answers, draft.accepted, draft.at)


def check_of(protocol: ScreenProtocol) -> Check:
    """What refuses a draft of other questions, or with answers that cannot have been given."""
    questions = questions_digest(protocol)

    def check(draft: Draft, document: TomlDocument) -> None:
        check_questions(draft, protocol.battery.id, questions, document)
        found = mismatches(protocol, draft.answers, draft.accepted, draft.at)
        if found:
            raise FileRefusedError(tuple(document.problem(*one) for one in found))

    return check
