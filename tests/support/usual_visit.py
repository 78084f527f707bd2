"""One usual visit, press by press, with how long the hand and the patient take for each.

A woman of 34 with a sore left knee that wants to walk and climb stairs again: nothing in the safety
questions, full load, no lag. The seconds are common practice, no source: what a therapist who knows
the program takes to read, to say what is to be done and to set up, and what a patient of that age
takes to do it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.timing.kinds.count_in_time import CountInTime
from screen_tui.timing.kinds.hold import Hold
from screen_tui.timing.kinds.measure import Measure
from screen_tui.timing.kinds.quality import Quality
from screen_tui.timing.kinds.repeat_hold import RepeatHold
from screen_tui.timing.kinds.time_for_count import TimeForCount

A_KEY_S = 0.5
"""For a press that follows another without a thought."""
A_LINE_S = 1.5
"""To ask a safety question in short and hear no."""
AN_ANSWER_S = 2.5
"""To ask something else and hear the answer."""
TO_SAVE_S = 2.0
"""To look at the value and save it."""
TO_READ_THE_ANSWER_S, TO_READ_THE_NOTE_S = 15.0, 30.0

SAY_AND_SET_UP_S = {
    "knee-extension": 15.0,
    "tandem-stance": 10.0,
    "single-leg-stance": 12.0,
    "walk-4m": 15.0,
    "timed-up-and-go": 15.0,
    "five-chair-stands": 20.0,
    "step-down": 20.0,
    "stair-steps": 25.0,
}
"""Before the first trial of a test on a leg; between trials a few seconds go by."""
BETWEEN_TRIALS_S = 5.0
A_GONIOMETER_S = 8.0
"""To place it and read it."""
A_REPETITION_S = 3.5
"""Of a slow step-down that is watched."""
TAKES_S = {
    ("single-leg-stance", "right"): 45.0,
    ("single-leg-stance", "left"): 45.0,
    ("tandem-stance", None): 10.0,
    ("walk-4m", None): 3.1,
    ("timed-up-and-go", None): 7.5,
    ("five-chair-stands", None): 10.0,
    ("stair-steps", None): 6.0,
}
"""How long the patient takes."""
TRIALS = (
    ("knee-extension", "right", 1),
    ("knee-extension", "left", 1),
    ("tandem-stance", None, 1),
    ("single-leg-stance", "right", 1),
    ("single-leg-stance", "left", 1),
    ("walk-4m", None, 2),
    ("five-chair-stands", None, 1),
    ("step-down", "right", 1),
    ("step-down", "left", 1),
    ("stair-steps", None, 2),
)
"""What is offered to her, in order, and how many trials a series has."""
SEEN = {("single-leg-stance", "left"): "1", ("step-down", "left"): "12"}
"""The signs that are marked: the pelvis drops, and the trunk leans."""


@dataclass(frozen=True)
class Press:
    """One press of a key.

    Attributes:
        key: Its name.
        after_s: Seconds since the press before it.
        own: Whether it is the test itself: start, stop, a repetition, a number, a sign.
    """

    key: str
    after_s: float = A_KEY_S
    own: bool = False


def before_testing(safety_lines: int) -> Iterator[Press]:
    """From Start to the first test.

    Args:
        safety_lines: How many safety questions there are, all on one page.
    """
    yield Press("n", 0.0)
    yield Press("1", AN_ANSWER_S)  # the left knee
    yield Press("0", A_LINE_S * safety_lines)
    yield Press("1", AN_ANSWER_S)  # full load
    # No surgery, stiffness, swelling, giving way, falls, earlier injury.
    yield Press("-", 2 * AN_ANSWER_S)
    yield Press("1", AN_ANSWER_S)  # pain
    yield Press("enter")
    yield Press("1", AN_ANSWER_S)  # walking
    yield Press("4")  # stairs
    yield Press("enter")
    yield Press("2", AN_ANSWER_S)  # pain now
    yield Press("6", AN_ANSWER_S)  # pain at its worst
    yield Press("n", AN_ANSWER_S)  # not alone at home
    yield Press("1", AN_ANSWER_S)  # it hurts in front
    yield Press("4", AN_ANSWER_S)  # it began slowly
    yield Press("1", AN_ANSWER_S)  # worse going down stairs
    yield Press("enter")
    yield Press("1", AN_ANSWER_S)  # she sits at work
    for character in "K14":
        yield Press(character)
    yield Press("enter")
    yield Press("3")
    yield Press("4")
    yield Press("enter")
    yield Press("f")
    yield Press("enter")  # height and mass are left out


def trial(spec: TestSpec, side: str | None, number: int) -> Iterator[Press]:
    """One trial, from what is said before it to the key that saves it.

    Args:
        spec: The test.
        side: The leg, None for both.
        number: The trial of the series, counted from 1.
    """
    ready = SAY_AND_SET_UP_S[spec.id] if number == 1 else BETWEEN_TRIALS_S
    takes = TAKES_S.get((spec.id, side), 0.0)
    timer = spec.timer
    match timer:
        case Measure():
            for place, _ in enumerate(timer.fields):
                yield Press("0", A_GONIOMETER_S + (0 if place else ready), own=True)
                yield Press("enter", own=True)
        case Quality():
            for place in range(timer.repetitions):
                yield Press("space", A_REPETITION_S if place else ready, own=True)
        case Hold():
            yield Press("space", ready, own=True)
            if takes < timer.cap_s:
                yield Press("space", takes, own=True)
        case TimeForCount():
            yield Press("space", ready, own=True)
            for _ in range(timer.count):
                yield Press("space", takes / timer.count, own=True)
        case RepeatHold() | CountInTime():
            raise NotImplementedError("no such test is offered at this visit")
        case _:
            yield Press("space", ready, own=True)
            yield Press("space", takes, own=True)
    for sign in SEEN.get((spec.id, side), ""):
        yield Press(sign, A_KEY_S, own=True)
    waits = max(0.0, takes - timer.cap_s + 0.5) if isinstance(timer, Hold) else 0.0
    full = isinstance(timer, Hold) and takes >= timer.cap_s
    yield Press("enter", (takes + TO_SAVE_S) if full else waits + TO_SAVE_S)


def after_testing() -> Iterator[Press]:
    """From the answer over the note to the end of the session."""
    yield Press("w", TO_READ_THE_ANSWER_S)
    yield Press("enter", TO_READ_THE_NOTE_S)


def whole_visit(protocol: ScreenProtocol) -> Iterator[Press]:
    """Every press of the visit, in order."""
    yield from before_testing(len(protocol.cautions))
    for test, side, trials in TRIALS:
        for number in range(1, trials + 1):
            yield from trial(protocol.test(test), side, number)
    yield from after_testing()
