"""What the hands do: a screen from Start to the note, every step chosen at random."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from random import Random

from kill.form import FormOnScreen
from kill.hand import SIZE, Hand
from kill.ledger import LIST_OF_TRIALS
from kill.look import spec_at

from screen_tui.protocol.tests import TestSpec
from screen_tui.timing.kinds.hold import Hold
from screen_tui.timing.kinds.measure import Measure
from screen_tui.timing.kinds.once import Once
from screen_tui.timing.kinds.quality import Quality
from screen_tui.timing.kinds.walk import Walk
from screen_tui.trial.intake import IntakeForm

LAST_LINE = "Not a diagnosis."
"""The last line of Start, so that all of it stands there."""
OPENING = "opening"
"""At the head as long as there is no list yet."""
QUESTIONS = "Resume the questions"
_UNFINISHED = re.compile(r"^.*?\b([1-9])\s+(Resume the questions.*|.*, begun .*)$")
_MOST_NOTES = 3
WITHHELD = "Space again starts it all the same"
"""Told where a test that is withheld is started."""
LATER = "on"
"""Begins words that are noted with a trial that was kept before."""
LONGEST_S = 120.0
"""No round takes so long."""


def go_on(hand: Hand, *, to_note: bool = False) -> None:
    """Do everything that follows after Start, until the end comes.

    Args:
        hand: The hands.
        to_note: Go to the result at once, and write the note.
    """
    if to_note and spec_on(hand) is not None:
        hand.press("g")
        hand.wait_until(lambda: hand.look.head.startswith("Answer"), "the answer")
    until = time.monotonic() + LONGEST_S
    while not hand.ledger.finished:
        assert time.monotonic() < until, f"it never came to an end:\n{hand.text}"
        step(hand)
    hand.rest_until_ended()


def open_what_waits(hand: Hand, begin: IntakeForm) -> str:
    """From Start: the session that waits, else the answers, else a new screen.

    Args:
        hand: The hands.
        begin: The questions as they will be on the screen.

    Returns:
        The line on Start that was opened; "" for a new screen.
    """
    hand.wait_until(lambda: _stands(hand), "Start")
    hand.ready()
    hand.drain(0.05)
    waiting = [found for line in hand.text.splitlines() if (found := _UNFINISHED.match(line))]
    # The latest is first: a session holds the answers, if the program died in between.
    key, offered = waiting[0].groups() if waiting else ("n", "")
    if not offered or offered.startswith(QUESTIONS):
        hand.ledger.form = FormOnScreen([begin], SIZE)
    hand.press(key)
    hand.wait_until(lambda: not hand.look.head.startswith("Start"), "what was opened")
    return offered


def _stands(hand: Hand) -> bool:
    return LAST_LINE in hand.look.words and not hand.look.head.endswith(OPENING)


def step(hand: Hand) -> None:
    """Do the next thing on whatever page there is."""
    spec = spec_on(hand)
    if hand.on_questions:
        answer(hand)
    elif spec is not None:
        at_a_test(hand, spec)
    elif hand.look.head.startswith("Note"):
        at_the_note(hand)
    elif hand.look.head.startswith(("Answer", "Plan")):
        page = hand.look.head
        hand.press("enter")
        hand.wait_until(lambda: hand.look.head != page, "what follows the answer")
    else:
        hand.drain(0.02)


def spec_on(hand: Hand) -> TestSpec | None:
    """The test on the screen."""
    return spec_at(hand.look.head, hand.ledger.protocol)


# The questions.


def answer(hand: Hand) -> None:
    """Answer the question at hand; now and then take something back and answer it again."""
    form = hand.ledger.form
    assert form is not None
    if form.last.done:
        hand.drain(0.02)
        return
    rng, question = hand.rng, form.last.current
    if form.last.begun and rng.random() < 0.1:
        hand.press("backspace")
        return
    if question.kind == "ready":
        hand.press("enter")
    elif question.kind == "yes-no":
        hand.press("n" if question.caution else "y")
    elif question.kind == "choice":
        hand.press(rng.choice(question.option_keys) if question.history else "1")
    elif question.kind == "several":
        there = bool(form.last.answers.get(question.id))
        # All goals, so that there are many tests.
        keys = question.option_keys
        some = keys if question.id == "goals" else rng.sample(keys, rng.randint(1, 2))
        digits = "" if there else some
        hand.press(*digits, "enter")
    elif form.last.answers.get(question.id):
        hand.press("enter")
    else:
        typed = {
            "label": f"K-{rng.randint(1, 999)}",
            "age": str(rng.randint(20, 90)),
            "height_cm": str(rng.randint(150, 190)),
            "note": "seen-at-noon",
        }
        hand.press(*typed.get(question.id, ""), "enter")


# The tests.


def at_a_test(hand: Hand, spec: TestSpec) -> None:
    """Do a trial, or leave the test out."""
    if "start all the same" in hand.look.words:
        hand.press("n")
        hand.drain(0.3)
        return
    ways: dict[type, Callable[[Hand, TestSpec], None]] = {
        Measure: measure_a_knee,
        Quality: watch_repetitions,
        Hold: hold,
        Walk: hold,
        Once: hold,
    }
    way = ways.get(type(spec.timer), skip)
    chance = hand.rng.random()
    if chance < 0.12:
        way = skip
    elif chance < 0.2:
        note_set_up(hand, spec)
    elif chance < 0.35 and hand.ledger.trials:
        amend_the_last(hand)
        return
    way(hand, spec)


def measure_a_knee(hand: Hand, spec: TestSpec) -> None:
    """Type both angles."""
    del spec
    passive = hand.rng.randint(0, 9)
    hand.press(*str(passive), "enter")
    hand.wait_for_any("> Active")
    hand.press(*str(passive + hand.rng.randint(0, 15)), "enter")
    hand.wait_for_any("SIGNS")
    beside(hand)
    keep(hand)


def watch_repetitions(hand: Hand, spec: TestSpec) -> None:
    """Count what is only watched."""
    for _ in range(hand.rng.randint(1, getattr(spec.timer, "repetitions", 1))):
        hand.press("space")
        hand.drain(hand.rng.uniform(0.2, 0.5))
    beside(hand)
    keep(hand)


def hold(hand: Hand, spec: TestSpec) -> None:
    """Stand, walk or rise for a while."""
    hand.press("space")
    hand.wait_for_any("RUNNING", WITHHELD)
    if WITHHELD in hand.look.words:
        # The line of keys, which says so beforehand, was not drawn yet.
        hand.press("n")
        hand.drain(0.3)
        return
    digits = [hand.ledger.protocol.sign(sign).digit for sign in spec.signs]
    for digit in hand.rng.sample(digits, hand.rng.randint(0, 2)):
        hand.drain(hand.rng.uniform(0.1, 0.8))
        hand.press(str(digit))
    hand.drain(hand.rng.uniform(0.2, 2.0))
    # Of a walk or a rise, Enter would mean that it was stopped early.
    hand.press(hand.rng.choice(["space", "enter"] if isinstance(spec.timer, Hold) else ["space"]))
    hand.wait_for_any("STOPPED", "FULL TIME", "ASKING")
    if "ASKING" in hand.look.words:
        # A busy machine; that the program asks is right.
        hand.press("y")
        hand.wait_for_any("STOPPED", "FULL TIME")
    beside(hand)
    keep(hand)


def beside(hand: Hand) -> None:
    """Now and then a sign, a pain score, or words, before the trial is kept."""
    rng = hand.rng
    if rng.random() < 0.3 and not (hand.look.shown and hand.look.shown.signs):
        hand.press("9")  # a sign of nearly every test
    if rng.random() < 0.3:
        hand.press("p", str(rng.randint(0, 4)))
    if rng.random() < 0.25:
        hand.drain(0.2)
        hand.press("m")
        hand.wait_for_any("Comment to the trial")
        hand.press(*_words(rng, "at"), "enter")
        hand.wait_for_any("comment: at")


def keep(hand: Hand) -> None:
    """Keep the trial, or strike it out; where the program doubts, say so again."""
    before = len(hand.ledger.trials)

    def said() -> bool:
        return len(hand.ledger.trials) > before or spec_on(hand) is None

    if hand.rng.random() < 0.15:
        hand.press("x", str(hand.rng.randint(1, 5)))
    else:
        hand.press("enter")
    hand.wait_until(lambda: said() or "Enter again" in hand.look.words, "what became of it")
    if not said():
        hand.drain(0.2)
        hand.press("enter")
        hand.wait_until(said, "that it was kept")


def skip(hand: Hand, spec: TestSpec) -> None:
    """Leave a test out, for a reason of the list or in own words."""
    del spec
    before = len(hand.ledger.skips)
    hand.press("s")
    hand.wait_for_any("Skip this test")
    if hand.rng.random() < 0.2:
        hand.press("0", *_words(hand.rng, "as"), "enter")
    else:
        # Reasons of safety withhold further tests; with too many the screen is soon over.
        hand.press(hand.rng.choice("1555666778"))
    # After the last test there is only the result, which does not tell of it.
    hand.wait_until(
        lambda: len(hand.ledger.skips) > before or hand.look.head.startswith("Answer"),
        "that it was skipped",
    )


def note_set_up(hand: Hand, spec: TestSpec) -> None:
    """Note what is worn, and other things that are chosen."""
    if not any(item.choices for item in spec.set_up):
        return
    place = next(at for at, item in enumerate(spec.set_up) if item.choices)
    hand.press("u")
    hand.wait_for_any("Set-up")
    hand.press(*["tab"] * place, str(hand.rng.randint(1, len(spec.set_up[place].choices))), "b")
    hand.wait_until(lambda: spec_on(hand) is not None, "the test again")


def amend_the_last(hand: Hand) -> None:
    """Strike the trial that was kept last out, or note something with it."""
    last = hand.ledger.trials[-1]
    hand.press("l")
    hand.wait_for_any(LIST_OF_TRIALS)
    if last.void or last.sentence.startswith("Void") or hand.rng.random() < 0.5:
        before = len(last.notes)
        hand.ledger.noting = _words(hand.rng, LATER)
        hand.press("m")
        hand.wait_for_any("Comment to the trial")
        hand.press(*hand.ledger.noting, "enter")
        hand.wait_until(lambda: len(last.notes) > before, "that it was noted")
    else:
        hand.press("x")
        hand.wait_for_any("Why is this trial void")
        hand.press(str(hand.rng.randint(1, 5)))
        hand.wait_until(lambda: bool(last.void), "that it was struck out")
    hand.press("b")
    hand.wait_until(lambda: spec_on(hand) is not None, "the test again")


def _words(rng: Random, begin: str) -> str:
    return f"{begin}{rng.randint(1, 99)}"


# The note.


def at_the_note(hand: Hand) -> None:
    """Write it a few times, then finish."""
    for _ in range(hand.rng.randint(1, _MOST_NOTES)):
        hand.press("w")
        hand.wait_for_any("Write the note")
        hand.press("1")
        hand.wait_for_any("Written to ")
    hand.press("enter")
    hand.wait_for_any("is finished and saved.")
