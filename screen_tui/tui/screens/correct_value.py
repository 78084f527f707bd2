"""Another value for a trial, typed by hand, and why."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from screen_tui.engine.observe import contradiction
from screen_tui.errors import EntryRefusedError
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Trial
from screen_tui.trial import amend
from screen_tui.tui.screens.ask import AskDialog, Question
from screen_tui.tui.screens.base import BaseScreen
from screen_tui.tui.screens.type_in import TypeInDialog


def ask_for_correction(
    page: BaseScreen[Any], spec: TestSpec, trial: Trial, then: Callable[[str, str], None]
) -> None:
    """Ask for another value and for the reason, and go on with both; leaving changes nothing."""

    def refuse(typed: str) -> str:
        refusal = why_refused(lambda: amend.corrected(spec, trial, typed, "not told yet"))
        if refusal:
            return refusal
        against = contradiction(spec, amend.corrected(spec, trial, typed, "not told yet"))
        return f"It cannot be kept like this: {against}." if against else ""

    def ask_why(typed: str | None) -> None:
        if typed is None:
            return

        def why(reason: str | None) -> None:
            if reason is not None:
                then(typed, reason)

        question = Question(
            title="Why corrected",
            lead=(f"{typed} instead of {before}: why?",),
            answers=amend.CORRECTION_REASONS,
            own_words="another reason, typed",
        )
        page.host.push_screen(AskDialog(question), why)

    before = "no value" if trial.value is None else f"{trial.value:g}"
    lead = f"{spec.name}: the value as it should be, in {spec.timer.counted or 'seconds'}."
    page.host.push_screen(TypeInDialog("Correct the value", lead, refuse), ask_why)


def why_refused(attempt: Callable[[], object]) -> str:
    """Why an entry is refused; "" when it is not."""
    try:
        attempt()
    except EntryRefusedError as error:
        return str(error)
    return ""
