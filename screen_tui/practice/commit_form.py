"""What a student commits to, as a form of questions, each with options to choose from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from screen_tui.engine.safety import URGENCY
from screen_tui.practice.agreement import IN_WORDS
from screen_tui.practice.case import Answer
from screen_tui.practice.scoring import Commitment
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words

MOST_MARKED = 9

ANSWERS: Mapping[Answer, str] = {
    "driver": "a likely driver, or two that cannot be separated",
    "nothing-found": "nothing found that limits the person",
    "undetermined": "undetermined: the signs do not show it",
    "refer-first": "refer first",
}


@dataclass(frozen=True, slots=True)
class Step:
    """One question of the form; ``options`` are ids with their labels."""

    id: str
    text: str
    short: str
    options: Sequence[tuple[str, str]]
    several: bool = False


@dataclass(frozen=True)
class CommitForm:
    """The questions with the answers so far.

    Attributes:
        answers: Ids of what was chosen, by the id of the question.
        at: How many questions are behind; as many as there are: all that is left is to commit.
    """

    protocol: ScreenProtocol
    answers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    at: int = 0

    @property
    def steps(self) -> tuple[Step, ...]:
        return tuple(_steps(self.protocol, self.answers))

    @property
    def step(self) -> Step | None:
        """The open question; None when all are answered."""
        return self.steps[self.at] if self.at < len(self.steps) else None

    def chosen(self, step: Step) -> tuple[str, ...]:
        ids = self.answers.get(step.id, ())
        return tuple(label for option, label in step.options if option in ids)

    def next(self, by: int = 1) -> CommitForm:
        """Go on to the next question, or back."""
        return replace(self, at=min(max(self.at + by, 0), len(self.steps)))

    def result(self) -> Commitment:
        """The answer; every question is answered."""
        one = {name: chosen[0] for name, chosen in self.answers.items() if chosen}
        cue = one.get("next-cue", "")
        test = {"test": one.get("next"), "side": one.get("next-side"), "cue": cue}
        return Commitment.model_validate(
            {
                "answer": one["answer"],
                "drivers": [
                    {"driver": one[name], "side": one.get(f"{name}-side")}
                    for name in ("driver", "second")
                    if one.get(name)
                ],
                "confidence": int(one["confidence"]),
                "next_test": test if one.get("next") else None,
                "start": self.answers.get("start", ()),
                "leave_out": self.answers.get("leave-out", ()),
                "how_soon": one.get("how-soon"),
            }
        )

    def choose(self, place: int) -> CommitForm:
        """Take an option of the open question; where several may be taken, put it on or off."""
        step = self.steps[self.at]
        option, _ = step.options[place]
        if not step.several:
            return self._with(step, (option,)).next()
        now = {*self.answers.get(step.id, ())} ^ {option}
        if len(now) > MOST_MARKED:
            return self
        return self._with(step, tuple(one for one, _ in step.options if one in now))

    def _with(self, step: Step, chosen: tuple[str, ...]) -> CommitForm:
        answers = {**self.answers, step.id: chosen}
        # What hangs on another answer is asked again; the rest stays.
        asked = {one.id: dict(one.options) for one in _steps(self.protocol, answers)}
        fitting = {
            name: tuple(one for one in ids if one in asked[name])
            for name, ids in answers.items()
            if name in asked
        }
        return replace(self, answers=fitting)


def _steps(protocol: ScreenProtocol, answers: Mapping[str, tuple[str, ...]]) -> Iterator[Step]:
    def of(name: str) -> str:
        return next(iter(answers.get(name, ())), "")

    drivers = [(one.id, one.name) for one in protocol.drivers]
    sided = {one.id for one in protocol.drivers if one.sided}
    legs = [("left", "left"), ("right", "right")]
    sides = [*legs, ("both", "both")]
    yield Step("answer", "What is the answer?", "Answer", list(ANSWERS.items()))
    if of("answer") == "driver":
        yield Step("driver", "Which driver is likely?", "Driver", drivers)
        if of("driver") in sided:
            yield Step("driver-side", "On which side?", "Side", sides)
        text = "Is there a second one that cannot be separated from it?"
        others = [one for one in drivers if one[0] != of("driver")]
        yield Step("second", text, "Second driver", [("", "no, it is this one"), *others])
        if of("second") in sided:
            yield Step("second-side", "The second one on which side?", "Side", sides)
    if of("answer") == "refer-first":
        yield Step("how-soon", "How soon, and to whom?", "How soon", list(URGENCY.items()))
    sure = [(str(number), text) for number, text in IN_WORDS.items()]
    yield Step("confidence", "How sure are you?", "Sure", sure)
    if of("answer") == "refer-first":
        return
    tests = [("", "nothing more"), *((one.id, one.name) for one in protocol.tests)]
    yield Step("next", "What would you test next, or again with a cue?", "Test next", tests)
    spec = protocol.known_test(of("next"))
    if spec is not None and spec.sided:
        yield Step("next-side", "On which leg?", "Leg", legs)
    if spec is not None and spec.cues:
        cues = [("", "without a cue"), *((cue.id, words.spaced(cue.id)) for cue in spec.cues)]
        yield Step("next-cue", "With which cue?", "Cue", cues)
    named = {of("driver"), of("second")}
    first = sorted(protocol.exercises, key=lambda one: one.driver not in named)
    starts = [(one.id, one.name) for one in first]
    yield Step("start", "What would you start? Mark any, or none.", "Start", starts, several=True)
    left = [(one.id, one.name) for one in protocol.leave_out]
    yield Step("leave-out", "What would you leave out for now?", "Leave out", left, several=True)
