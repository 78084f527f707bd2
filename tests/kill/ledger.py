"""What the screen has said so far, and what the file must therefore hold."""

from __future__ import annotations

from dataclasses import dataclass, field

from kill.form import FormOnScreen
from kill.look import Look, ShownTrial, look_at

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Session
from screen_tui.tui.drawing.words import kept_sentence

LIST_OF_TRIALS = "All trials"


@dataclass
class Promised:
    """A trial the screen has said was kept.

    Attributes:
        sentence: How it said so.
        seen: Whether it said so in this run; otherwise it stood in the file before.
        void: The reason for which it said later that the trial is struck out.
        notes: Words it said later were noted with the trial.
    """

    sentence: str
    seen: bool = True
    void: str = ""
    notes: list[str] = field(default_factory=list)


@dataclass
class Ledger:
    """Takes looks at the screen, and remembers what they promise.

    Attributes:
        protocol: What is tested.
        form: The questions, once they are on the screen.
        trials: All that were kept, in order.
        skips: ``Tandem stance, right, not enough time`` of each skip, in order.
        shown: The trial that was on the screen last.
        kept_before: How many trials had been kept when it was.
        noting: Words that were typed as the note of the trial kept last.
        set_up: What was last said to be noted on the set-up.
        written: Whether a note was said to be written.
        finished: Whether the screen was said to be finished.
        started: Whether the program had drawn its first screen.
        pages: Heads of the screens, each once.
    """

    protocol: ScreenProtocol
    form: FormOnScreen | None = None
    trials: list[Promised] = field(default_factory=list)
    skips: list[str] = field(default_factory=list)
    shown: ShownTrial | None = None
    kept_before: int = 0
    noting: str = ""
    set_up: str = ""
    written: bool = False
    finished: bool = False
    started: bool = False
    _before: Look | None = None

    def begin_with(self, session: Session) -> None:
        """Expect what a file holds already to stay in it."""
        self.trials = [
            Promised(as_words(kept_sentence(self.protocol, trial)), seen=False)
            for trial in session.trials
        ]

    def take(self, text: str) -> Look:
        """Take a look at the screen."""
        look = look_at(text, self.protocol)
        before = self._before.said if self._before else frozenset()
        for sentence in sorted(look.said - before):
            self._promise(sentence, look.head)
        if look.shown is not None:
            self.shown, self.kept_before = look.shown, len(self.trials)
        if self.form is not None and look.head.startswith("Before testing"):
            self.form.take(text)
        self._told_elsewhere(look)
        self._before = look
        return look

    def _told_elsewhere(self, look: Look) -> None:
        self.started = self.started or "New session" in look.words
        self.written = self.written or "Written to " in look.words
        self.finished = self.finished or "is finished and saved." in look.words
        _, found, what = look.words.partition("Set-up noted: ")
        if found:
            self.set_up = what.partition(".")[0]

    def _promise(self, sentence: str, head: str) -> None:
        kind, _, what = sentence.partition(": ")
        if head.startswith(LIST_OF_TRIALS):
            if kind == "Void":
                self.trials[-1].void = what.removesuffix(".")
            elif sentence == "Comment added.":
                self.trials[-1].notes.append(self.noting)
        elif kind in ("Saved", "Void"):
            self.trials.append(Promised(sentence))
        elif kind == "Skipped":
            self.skips.append(what.removesuffix("."))


def as_words(text: str) -> str:
    """A text as it is read from the screen: with single blanks."""
    return " ".join(text.split())
