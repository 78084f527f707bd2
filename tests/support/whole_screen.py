"""The way through a whole screen, every test of it, as a hand takes it in a pseudo-terminal."""

from __future__ import annotations

import time
from collections.abc import Callable

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.timing.kinds.hold import Hold
from screen_tui.timing.kinds.measure import Measure
from screen_tui.timing.kinds.quality import Quality
from screen_tui.timing.kinds.steps import Steps
from screen_tui.timing.kinds.time_for_count import TimeForCount
from support.short_screen import SAFE
from support.terminal import Terminal

PROTOCOL = load_protocol([protocols_folder()], DEFAULT_BATTERY)
A_REPETITION_S = 0.75
"""Between two presses that count, longer than the shortest repetition and the wait of a gate."""
A_HAND_S = 0.7
"""Between two presses of the same key by a hand; faster ones are taken for a key that is held."""
TOO_LONG_HERE = ("chair-stands-30s",)


def seen(terminal: Terminal, *wanted: str) -> None:
    """Wait until all of these texts stand whole on the screen at once."""
    for text in wanted:
        terminal.wait_for(text)
    missing = [text for text in wanted if text not in terminal.text]
    assert not missing, f"{missing} is not on the screen:\n{terminal.text}"


def questions(terminal: Terminal, goals: str) -> None:
    seen(terminal, "Knee screen", "New screen", "Not a diagnosis", " n ", " q ")
    terminal.press("n")
    seen(terminal, "Before testing", "fracture", " y ", " n ", "tests ", "Tests, ")
    terminal.press(*SAFE)
    seen(terminal, "bear", " 1 ", " 5 ", "Tests, ")
    terminal.press("1", "enter", "1", "enter", "1", *goals, "enter")
    seen(terminal, "label", "Tests, ")
    terminal.press(*"K-7", "enter", *"34", "enter", "1", "enter", "enter", "enter")


def spec_on(terminal: Terminal) -> TestSpec:
    """The test whose name stands at the head of the screen."""
    head = terminal.text.splitlines()[0].strip()
    return next(
        spec
        for spec in sorted(PROTOCOL.tests, key=lambda one: -len(one.name))
        if head.startswith((spec.name, f"{spec.short_name}  "))
    )


def one_trial(terminal: Terminal, spec: TestSpec) -> None:
    """Do one trial and keep it."""
    timer = spec.timer
    if isinstance(timer, Measure):
        terminal.press("0", "enter", "1", "enter")
        seen(terminal, "SIGNS, THEN KEEP", "Enter")
        terminal.drain(A_HAND_S)
        terminal.press("enter")
        return
    terminal.press("space")
    if isinstance(timer, Quality):
        for _ in range(timer.repetitions - 1):
            time.sleep(A_REPETITION_S)
            terminal.press("space")
        seen(terminal, "WATCH", "repetitions")
        terminal.press("enter")
        return
    seen(terminal, "RUNNING")
    if isinstance(timer, TimeForCount | Steps):
        count = timer.count if isinstance(timer, TimeForCount) else timer.steps
        for _ in range(count):
            time.sleep(A_REPETITION_S)
            terminal.press("space")
    else:
        lasts = 10.2 if spec.id == "tandem-stance" else 5.2 if isinstance(timer, Hold) else 3.2
        terminal.drain(lasts)
        terminal.press("space")
    terminal.drain(A_HAND_S)
    assert any(state in terminal.text for state in ("ENDED", "TARGET REACHED")), terminal.text
    terminal.press("enter")


def whole_screen_to_the_note(
    terminal: Terminal,
    goals: str,
    before_each: Callable[[Terminal, TestSpec], None] | None = None,
) -> set[str]:
    """From Start over every test of the goals and the result to the note.

    Args:
        terminal: Shows Start, or will.
        goals: The keys of the goals.
        before_each: Looks at the screen of a test before it begins.

    Returns:
        The ids of the tests that were done.
    """
    done: set[str] = set()
    questions(terminal, goals)
    for _ in range(60):
        terminal.drain(0.4)
        if "Result" in terminal.text.splitlines()[0]:
            break
        spec = spec_on(terminal)
        if before_each is not None:
            before_each(terminal, spec)
        if spec.id in TOO_LONG_HERE:
            terminal.press("s")
            seen(terminal, "Skip this test", " 7 ", "back, not skipped")
            terminal.press("7")
            continue
        if "start all the same" in terminal.text:
            terminal.press("n")
            continue
        one_trial(terminal, spec)
        done.add(spec.id)
        terminal.drain(0.8)
        if "Kept: " in terminal.text and spec.trials > 1 and spec_on(terminal) is spec:
            terminal.press("n")
    seen(terminal, "Result 1/2", "Speaks", "Enter", "plan")
    terminal.press("enter")
    seen(terminal, "Result 2/2", "Enter", "note")
    terminal.press("enter")
    seen(terminal, "Knee screen note", " w ", "write to a file")
    return done
