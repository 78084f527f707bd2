"""Dialogs: one question with a few answers at digit keys, or one line that is typed in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from textual import events
from textual.await_complete import AwaitComplete

from screen_tui.engine.observe import contradiction
from screen_tui.engine.results import CautionRaised
from screen_tui.errors import EntryRefusedError
from screen_tui.protocol.knowledge import Caution
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import SKIP_REASONS, Trial
from screen_tui.trial import record
from screen_tui.trial.record import STRIKE_REASONS
from screen_tui.tui.drawing.rows import (
    BLANK,
    LINE,
    Choice,
    cursor_row,
    draw_lines,
    paragraph,
    typed_rows,
)
from screen_tui.tui.keys import KeyHint, digits, do_key
from screen_tui.tui.screens.base import BaseScreen, Drawn
from screen_tui.tui.screens.list import PickScreen, keyed
from screen_tui.tui.widgets import Field

MOST_CHARACTERS = 120
MOST_OF_A_PATH = 1000
ANOTHER_REASON = "another reason, typed"


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked, and the answers offered.

    Attributes:
        lead: Paragraphs before the answers.
        answers: The first nine are at the digits from 1; where there are none, one is typed.
        own_words: What is at 0 to type an answer; empty when none may be typed.
        back: What going back without an answer does.
        most: Characters an answer in own words may have.
        refuse: Says why words cannot be taken, "" when they can; refused ones stay to be mended.
    """

    title: str
    lead: tuple[str, ...]
    answers: tuple[str, ...] = ()
    own_words: str = ""
    back: str = "back"
    most: int = MOST_CHARACTERS
    refuse: Callable[[str], str] = lambda _: ""


class AskDialog(PickScreen[str]):
    """Asks, and is dismissed with the answer's text, or None when it was left without one.

    No line is marked at first, so that Enter alone answers nothing.

    Args:
        text: What is typed to begin with, where no answers are offered.
    """

    clears = False

    def __init__(self, question: Question, text: str = "") -> None:
        picks = [(Choice("", key, one), one) for key, one in keyed(question.answers)]
        if question.own_words:
            picks.append((Choice("", "0", question.own_words), ""))
        super().__init__(question.title, picks, at=-1)
        self.question = question
        if not question.answers:
            self.field = Field(text, question.most)

    def draw(self, width: int, height: int) -> Drawn:
        # In a window of a few rows the answers come first; what leads to them was read before.
        lead = self.question.lead[-1:] if self.is_small else self.question.lead
        above = [line for text in lead for line in (*paragraph(text, width), BLANK)]
        rows, (first, last) = draw_lines(self.lines(), self.at, width)
        if self.field is not None:
            above += [*rows, BLANK] if rows else []
            rows = typed_rows(self.field.value, self.field.cursor_position, width, "> ")
            first = last = cursor_row(rows)
        elif self.at < 0:
            return Drawn([*above, *rows], (0, 0))
        return Drawn([*above, *rows], (len(above) + first, len(above) + last))

    def hints(self) -> Sequence[KeyHint]:
        answers, own_words = self.question.answers, self.question.own_words
        if self.field is None:
            return (
                KeyHint(digits(min(len(answers), 9)), "choose", 0),
                *((KeyHint("0", "type", 1),) if own_words else ()),
                KeyHint("↑↓", "mark", 0 if len(answers) > 9 else 7),
                KeyHint("b", self.question.back, 0, self.go_back),
            )
        if answers:
            return (
                KeyHint("Enter", "take these words", 0, self._take_words),
                KeyHint("Backspace", "delete; on an empty line: back to the list", 1, self._list),
            )
        back = "delete" if self.field.value else "back, nothing typed"
        return (
            KeyHint("Enter", "take it", 0, self._take_words),
            KeyHint("Backspace", back, 0, self.go_back),
        )

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(LINE):
            if self.field is not None:
                return
            self.at = int(press.removeprefix(LINE))
            press = self.lines()[self.at].key or "enter"
        super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        if self.field is not None:
            return do_key(self.hints(), key)
        return super().take_key(key, event)

    def choose(self) -> None:
        if self.picks[self.at][1]:
            super().choose()
        else:
            self.field = Field(most=self.question.most)

    def typed(self) -> None:
        self.said = ""

    def _list(self) -> None:
        self.field = None

    def _take_words(self) -> None:
        typed = self.field.value.strip() if self.field is not None else ""
        self.said = self.question.refuse(typed) if typed else ""
        if not self.said and (typed or not self.question.answers):
            self.dismiss(typed if self.clears else typed or None)


class TypeInDialog(AskDialog):
    """Asks for one line, which may be there to begin with.

    Where it ``clears``, an empty line is an answer too, which takes away what was there.
    """

    def __init__(
        self,
        title: str,
        lead: str,
        refuse: Callable[[str], str] = lambda _: "",
        most: int = 200,
        text: str = "",
        *,
        clears: bool = False,
    ) -> None:
        super().__init__(Question(title, (lead,), most=most, refuse=refuse), text)
        self.clears = clears


# About a test or a trial.

KEEP = "save it, then continue"
STRIKE = "make it void, then continue"
FORGET = "leave it; no trial was done"
CORRECTED = "Corrected; the first value stays in the record."


def leave_trial_dialog(test_name: str, *, ended: bool) -> AskDialog:
    """Ask what becomes of a trial when its screen is left; going back changes nothing.

    One that has not ended is only something prepared, which cannot be saved.
    """
    lead = f"{test_name}: this trial is not in the session so far."
    answers = (KEEP, STRIKE) if ended else (FORGET,)
    return AskDialog(Question("Not saved yet", (lead,), answers, back="stay here"))


YES_AGAIN = "Yes: refer first"
NO_AGAIN = "No: examined again, and it holds"


def ask_again_dialog(caution: Caution, raised: CautionRaised) -> AskDialog:
    """Ask a safety question once more whose no the findings contradict."""
    lead = (f"{caution.name}: {raised.because}. {raised.ask}", caution.question)
    back = "later; until then nothing is started"
    return AskDialog(Question("Ask again", lead, (YES_AGAIN, NO_AGAIN), back=back))


def skip_dialog(test_name: str, *, practising: bool) -> AskDialog:
    """Ask why a test is not done; the answer is in the note, where there is one."""
    lead = f"{test_name}: why is it not done?"
    lead += "" if practising else " The reason goes into the note."
    back = "back, not skipped"
    return AskDialog(Question("Skip this test", (lead,), SKIP_REASONS, ANOTHER_REASON, back))


def cue_dialog(spec: TestSpec) -> AskDialog:
    """Ask with which cue a test is repeated; the answer is what is said."""
    lead = f"{spec.name}: say one thing, then repeat. Which?"
    cues = tuple(cue.say for cue in spec.cues)
    return AskDialog(Question("Repeat with a cue", (lead,), cues, back="back, no repeat"))


def void_dialog() -> AskDialog:
    """Ask why a trial is void."""
    lead = "Why is this trial void? It stays in the record."
    return AskDialog(Question("Void", (lead,), STRIKE_REASONS, ANOTHER_REASON))


def comment_dialog(trial: Trial, lead: str) -> TypeInDialog:
    """Ask for a comment to a trial."""
    return TypeInDialog(
        "Comment to the trial", lead, lambda words: why_refused(record.noted, trial, words)
    )


def ask_for_correction(
    page: BaseScreen[Any], spec: TestSpec, trial: Trial, then: Callable[[str, str], None]
) -> None:
    """Ask for another value and for the reason, and go on with both; leaving changes nothing."""

    def refuse(typed: str) -> str:
        value = spec, trial, typed, "no reason yet"
        if refusal := why_refused(record.corrected, *value):
            return refusal
        made = record.corrected(*value)
        against = contradiction(spec, made)
        refusal = f"It cannot be saved like this: {against}." if against else ""
        return refusal or record.why_no_other_value(trial, made.value)

    def ask_why(typed: str) -> None:
        lead = f"{typed} instead of {before}: why?"
        reasons = record.CORRECTION_REASONS
        question = Question("Why corrected", (lead,), reasons, ANOTHER_REASON)
        page.host.ask(AskDialog(question), lambda reason: then(typed, reason))

    before = "no value" if trial.value is None else f"{trial.value:g}"
    lead = f"{spec.name}: the value as it should be, in {spec.timer.counts or 'seconds'}."
    page.host.ask(TypeInDialog("Correct the value", lead, refuse), ask_why)


def why_refused(attempt: Callable[..., object], *arguments: object) -> str:
    """Why an entry is refused; "" when it is not."""
    try:
        attempt(*arguments)
    except EntryRefusedError as error:
        return str(error)
    return ""


# About the whole screen and the program.


class StopDialog(AskDialog):
    """Asks why the whole screen is stopped; asking once is enough."""

    STOPPABLE = False


def stop_dialog(protocol: ScreenProtocol, *, practising: bool) -> StopDialog:
    """Ask why the screen is stopped; the answers are the protocol's rules for stopping."""
    done = "count, and your answer is next" if practising else "are saved and go into the note"
    lead = (
        "First look after the person: sit them down, stay with them, follow the local "
        "emergency procedure if it is needed.",
        f"Why is testing stopped? The trials done so far {done}.",
    )
    rules = tuple(rule.text for rule in protocol.stop_rules)
    back = "continue, not stopped"
    return StopDialog(Question("STOP TESTING", lead, rules, ANOTHER_REASON, back))


TRY_AGAIN: Final = "try again"
_LOSE: Final = "leave, and lose what is not saved"
_STRIKE_OUT: Final = "leave; the trial is void"
LEAVING: Final = (_LOSE, _STRIKE_OUT)
"""The answers that end the program."""


class TroubleDialog(AskDialog):
    """Asks for the program, whatever page it lies on: the answer goes to the app at once."""

    def dismiss(self, result: str | None = None) -> AwaitComplete:
        if not self.is_active:
            return AwaitComplete()
        going = super().dismiss(result)
        self.host.answer_trouble(result)
        return going


class LeaveDialog(TroubleDialog):
    """Asks before the program is left."""


def _not_saved(lead: tuple[str, ...], answers: tuple[str, ...]) -> Question:
    elsewhere, back = "save in another folder, its path typed", "continue, not saved"
    return Question("NOT SAVED", lead, answers, elsewhere, back, MOST_OF_A_PATH)


def trouble_dialog(trouble: str) -> TroubleDialog:
    """Ask what to do about a change that is not on disk: try again, or the path of a folder."""
    meanwhile = "You can continue: everything stays in memory, and each further change tries again."
    return TroubleDialog(_not_saved((trouble, meanwhile), (TRY_AGAIN,)))


def leave_dialog(trial: str, trouble: str) -> LeaveDialog:
    """Ask whether to leave; the answer is one of `LEAVING`, or as for `trouble_dialog`.

    There is a trial of that test that is not saved, or some trouble why the last change is not on
    disk, or both.
    """
    lead = [f"{trial}: this trial is not saved yet. Leaving makes it void."] if trial else []
    if trouble:
        lead += [trouble, "Not everything is on disk. What is not is lost when the program ends."]
    lead.append("Ctrl-C or Ctrl-Q again leaves.")
    if trouble:
        return LeaveDialog(_not_saved(tuple(lead), (TRY_AGAIN, _LOSE)))
    back = "continue the trial"
    return LeaveDialog(Question("Leave the program", tuple(lead), (_STRIKE_OUT,), back=back))
