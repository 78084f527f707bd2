"""What a student commits to, as a form of questions, each with options to choose from."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, cast

from screen_tui.engine.safety import URGENCY
from screen_tui.fields import Side
from screen_tui.practice.agreement import IN_WORDS
from screen_tui.practice.case import Answer, TrueDriver, TrueTest
from screen_tui.practice.scoring import Commitment
from screen_tui.protocol.knowledge import Urgency
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words

Sides = Literal["left", "right", "both"]
NONE = "none"
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
        """The questions that are asked, given the answers."""
        return _steps(self.protocol, self.answers)

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
        named = [
            TrueDriver(driver=one[name], side=cast("Sides | None", one.get(f"{name}-side")))
            for name in ("driver", "second")
            if one.get(name, NONE) != NONE
        ]
        wanted = one.get("next", NONE)
        cue = one.get("next-cue", NONE)
        return Commitment(
            answer=cast("Answer", one["answer"]),
            drivers=tuple(named),
            confidence=int(one["confidence"]),
            next_test=None
            if wanted == NONE
            else TrueTest(
                test=wanted,
                side=cast("Side | None", one.get("next-side")),
                cue="" if cue == NONE else cue,
            ),
            start=self.answers.get("start", ()),
            leave_out=self.answers.get("leave-out", ()),
            how_soon=cast("Urgency | None", one.get("how-soon")),
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


def _steps(protocol: ScreenProtocol, answers: Mapping[str, tuple[str, ...]]) -> tuple[Step, ...]:
    def of(name: str) -> str:
        return next(iter(answers.get(name, ())), "")

    answer = of("answer")
    steps = [Step("answer", "What is the answer?", "Answer", list(ANSWERS.items()))]
    if answer == "driver":
        steps += _driver_steps(protocol, of)
    if answer == "refer-first":
        soon = list(URGENCY.items())
        steps.append(Step("how-soon", "How soon, and to whom?", "How soon", soon))
    sure = [(str(number), text) for number, text in IN_WORDS.items()]
    steps.append(Step("confidence", "How sure are you?", "Sure", sure))
    if answer != "refer-first":
        steps += _next_steps(protocol, of)
        steps += _plan_steps(protocol, {of("driver"), of("second")})
    return tuple(steps)


def _driver_steps(protocol: ScreenProtocol, of: Callable[[str], str]) -> list[Step]:
    drivers = [(one.id, one.name) for one in protocol.drivers]
    sided = {one.id for one in protocol.drivers if one.sided}
    sides = [("left", "left"), ("right", "right"), ("both", "both")]
    steps = [Step("driver", "Which driver is likely?", "Driver", drivers)]
    if of("driver") in sided:
        steps.append(Step("driver-side", "On which side?", "Side", sides))
    others = [(NONE, "no, it is this one"), *(one for one in drivers if one[0] != of("driver"))]
    text = "Is there a second one that cannot be separated from it?"
    steps.append(Step("second", text, "Second driver", others))
    if of("second") in sided:
        steps.append(Step("second-side", "The second one on which side?", "Side", sides))
    return steps


def _next_steps(protocol: ScreenProtocol, of: Callable[[str], str]) -> list[Step]:
    tests = [(NONE, "nothing more"), *((one.id, one.name) for one in protocol.tests)]
    steps = [Step("next", "What would you test next, or again with a cue?", "Test next", tests)]
    spec = protocol.known_test(of("next"))
    if spec is not None and spec.sided:
        sides = [("left", "left"), ("right", "right")]
        steps.append(Step("next-side", "On which leg?", "Leg", sides))
    if spec is not None and spec.cues:
        cues = [(NONE, "without a cue"), *((cue.id, words.spaced(cue.id)) for cue in spec.cues)]
        steps.append(Step("next-cue", "With which cue?", "Cue", cues))
    return steps


def _plan_steps(protocol: ScreenProtocol, named: set[str]) -> list[Step]:
    """Exercises, those for the drivers named first; and what to leave out."""
    exercises = sorted(protocol.exercises, key=lambda one: one.driver not in named)
    starts = [(one.id, one.name) for one in exercises]
    left = [(one.id, one.name) for one in protocol.leave_out]
    return [
        Step("start", "What would you start? Mark any, or none.", "Start", starts, several=True),
        Step("leave-out", "What would you leave out for now?", "Leave out", left, several=True),
    ]
