"""The answers given before testing, changed while a session is open."""

from __future__ import annotations

from textual import events

from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import TYPED
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.before_testing import BeforeTestingScreen


class AnswersScreen(BeforeTestingScreen):
    """Shows what was answered and changes it; each answer is saved once the form is complete.

    It is dismissed with whether anything was changed.

    Args:
        form: The answers of the session in hand.
    """

    def __init__(self, form: IntakeForm) -> None:
        super().__init__(form)
        self._changed = False

    def leave_hint(self) -> KeyHint:
        return KeyHint("q", "back", 0)

    def take_key(self, key: str, event: events.Key) -> bool:
        # The key that opened the page closes it, too, as does that which leads back elsewhere.
        if key in ("a", "b") and not self.typing_now:
            key = "q"
        return super().take_key(key, event)

    def _take(self, form: IntakeForm) -> None:
        moved = self.form is None or form.at != self.form.at
        super()._take(form)
        # What is half typed may be possible and not meant.
        if moved or form.current.kind not in TYPED:
            self._save(form)

    def _keep(self, form: IntakeForm) -> None:
        del form
        self.said = ""

    def _save(self, form: IntakeForm) -> None:
        if form.tellable and self.host.controller.change_answers(*form.result()):
            self._changed = True

    def _after_refer(self, key: str | None) -> None:
        super()._after_refer(key)
        if self.form is not None and self.form.raised and key == "enter":
            self._accept(self.form)

    def _accept(self, form: IntakeForm) -> None:
        self._save(form)
        self.dismiss(self._changed)

    def _ask_to_leave(self, form: IntakeForm) -> None:
        if form.complete:
            self._accept(form)
            return
        at = form.missing[0]
        self._take(form.go_to(at).key("enter", None))
        self.said = "This answer is still needed."
