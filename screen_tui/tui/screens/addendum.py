"""An addendum to a finished screen: words, or a trial that is corrected or struck out."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from screen_tui.errors import EntryRefusedError, ScreenError
from screen_tui.report.words import test_name, with_side
from screen_tui.session.model import Addendum, Session
from screen_tui.trial.addendum import corrected_value, make_addendum, trial_at
from screen_tui.tui.drawing.rows import Choice
from screen_tui.tui.drawing.words import trial_words
from screen_tui.tui.screens.ask import AskDialog, Question
from screen_tui.tui.screens.correct_value import why_refused
from screen_tui.tui.screens.list import ListScreen
from screen_tui.tui.screens.type_in import TypeInDialog

STRIKE = "strike it out"
CORRECT = "correct its value"
_REASON = "Why is this added? The reason and the time stand in the note."


class AddendumScreen(ListScreen[Session | None]):
    """Lists what an addendum can be about; dismissed with the session as it is then.

    Args:
        session: A finished session of the folder.
    """

    STOPPABLE = False

    def __init__(self, session: Session) -> None:
        super().__init__("Addendum")
        self.session = session
        self.said = "What was finished stays as it is; this is added to it."

    def notice(self) -> str:
        return self.said

    def lines(self) -> Sequence[Choice]:
        protocol = self.host.protocol
        return (
            Choice("", "w", "in words only"),
            *(
                Choice(
                    with_side(test_name(protocol, trial.test), trial.side),
                    "",
                    f"trial {place}: {trial_words(protocol, trial)}",
                )
                for place, trial in enumerate(self.session.as_amended.trials, start=1)
            ),
        )

    def choose(self) -> None:
        place = self.at
        if place == 0:
            self._type("What is to be added?", lambda text: self._reason(text=text))
            return
        question = Question(
            title="Addendum",
            lead=(f"Trial {place}: what is to be added?",),
            answers=(CORRECT, STRIKE),
        )

        def decided(answer: str | None) -> None:
            if answer == STRIKE:
                self._reason(trial=place, strike=True)
            elif answer == CORRECT:
                self._ask_for_value(place)

        self.host.push_screen(AskDialog(question), decided)

    def _ask_for_value(self, place: int) -> None:
        trial = trial_at(self.session, place)
        spec = self.host.protocol.test(trial.test)

        def refuse(typed: str) -> str:
            return why_refused(lambda: corrected_value(spec, trial, typed, "not told yet"))

        def take(typed: str | None) -> None:
            if typed is not None:
                value = corrected_value(spec, trial, typed, "not told yet")
                self._reason(trial=place, value=value)

        page = TypeInDialog("Addendum", f"{spec.name}: the value as it was.", refuse)
        self.host.push_screen(page, take)

    def _type(self, lead: str, then: Callable[[str], None]) -> None:
        def take(typed: str | None) -> None:
            if typed is not None:
                then(typed)

        self.host.push_screen(TypeInDialog("Addendum", lead, most=400), take)

    def _reason(
        self,
        text: str = "",
        *,
        trial: int | None = None,
        value: float | None = None,
        strike: bool = False,
    ) -> None:
        def append(reason: str) -> None:
            now = self.host.clock.wall()
            try:
                made = make_addendum(
                    self.session, now, reason, text=text, trial=trial, value=value, strike=strike
                )
            except EntryRefusedError as error:
                self.said = str(error)
                return
            self._append(made)

        self._type(_REASON, append)

    def _append(self, made: Addendum) -> None:
        store = self.host.controller.store
        try:
            store.load(self.session.id)
            self.dismiss(store.append(self.session.id, made))
        except ScreenError as error:
            self.said = str(error)
