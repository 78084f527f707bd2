"""The way through a whole screen, every test of it, as a hand takes it in a pseudo-terminal."""

from __future__ import annotations

import time
from collections.abc import Callable

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.timing.key_filter import REPEAT_GAP_S
from screen_tui.timing.kinds.hold import Hold
from screen_tui.timing.kinds.measure import Measure
from screen_tui.timing.kinds.quality import Quality
from screen_tui.timing.kinds.time_for_count import TimeForCount
from support.form_keys import SHIPPED_NOT_ASKED
from support.short_screen import SAFE
from support.terminal import PATIENCE_S, Terminal

PROTOCOL = load_protocol([protocols_folder()], DEFAULT_BATTERY)
A_DELAY_S = 0.25
"""How much later than the last one a press may be read on a busy machine."""
A_PAGE_S = 0.15
"""For the rest of a page, once its first part was read."""
A_HAND_S = 0.7
"""Between two presses of the same key by a hand; faster ones are taken for a key that is held."""
TOO_LONG_HERE = ("chair-stands-30s",)


def seen(terminal: Terminal, *wanted: str) -> None:
    """Wait until all of these texts stand whole on the screen at once."""
    for text in wanted:
        terminal.wait_for(text)
    missing = [text for text in wanted if text not in terminal.text]
    assert not missing, f"{missing} is not on the screen:\n{terminal.text}"


def until(terminal: Terminal, there: Callable[[str], bool]) -> None:
    """Read until the screen is like that, and whole."""
    at_most = time.monotonic() + PATIENCE_S
    while not there(terminal.text):
        assert time.monotonic() < at_most, f"never came:\n{terminal.text}"
        terminal.drain()
    terminal.drain(A_PAGE_S)


def questions(terminal: Terminal, goals: str) -> None:
    seen(terminal, "Start", "New session", "Not a diagnosis", " n ", " q ")
    terminal.press("n")
    seen(terminal, "safety", "Which knee", " 1 ", " 3 ", "tests ")
    terminal.press("1")
    seen(terminal, "chest pain", " y ", " n ", " 0 ", "tests ")
    terminal.press(*SAFE)
    seen(terminal, "bear", " 1 ", " 5 ", "tests ")
    terminal.press("1", "enter", "1", "enter", *goals, "enter")
    seen(terminal, "Pain now", "tests ")
    terminal.press(*SHIPPED_NOT_ASKED)
    seen(terminal, "Patient code", "tests ")
    terminal.press(*"K-7", "enter", *"34", "enter", "1", "enter")


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
        seen(terminal, "SIGNS", "Enter")
        terminal.drain(A_HAND_S)
        terminal.press("enter")
        return
    terminal.press("space")
    if isinstance(timer, Quality):
        for _ in range(timer.repetitions - 1):
            terminal.drain(between_presses(0.0))
            terminal.press("space")
        seen(terminal, "WATCH", "repetitions")
        terminal.press("enter")
        return
    seen(terminal, "RUNNING")
    if isinstance(timer, TimeForCount):
        for _ in range(timer.count):
            terminal.drain(between_presses(timer.min_split_s))
            terminal.press("space")
    else:
        # Ten seconds in tandem and five on one leg, or harder tests are withheld.
        stands = 10.2 if spec.id == "tandem-stance" else 5.2
        least = max(spec.plausible.minimum, timer.fastest(None) or 0.0)
        terminal.drain(stands if isinstance(timer, Hold) else least + 0.2)
        terminal.press("space")
    until(terminal, lambda text: any(word in text for word in ("STOPPED", "FULL TIME", "DONE")))
    terminal.press("enter")


def go_on(terminal: Terminal, key: str) -> None:
    """Press a key that leads to another page."""
    before = terminal.text
    terminal.press(key)
    until(terminal, lambda text: text != before)


def at_result(text: str) -> bool:
    """Whether the result is on the screen."""
    return "Answer" in text.splitlines()[0]


def between_presses(min_split_s: float) -> float:
    """Seconds between two presses that count: no shorter repetition, and silence for the gate."""
    return max(min_split_s, REPEAT_GAP_S) + A_DELAY_S


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
    until(terminal, lambda text: "Before testing" not in text)
    for _ in range(60):
        if at_result(terminal.text):
            break
        spec = spec_on(terminal)
        if before_each is not None:
            before_each(terminal, spec)
        if spec.id in TOO_LONG_HERE:
            terminal.press("s")
            seen(terminal, "Skip this test", " 8 ", "back, not skipped")
            go_on(terminal, "8")
            continue
        if "start all the same" in terminal.text:
            go_on(terminal, "n")
            continue
        one_trial(terminal, spec)
        done.add(spec.id)
        until(terminal, lambda text: "Saved: " in text or at_result(text))
        if not at_result(terminal.text) and spec.trials > 1 and spec_on(terminal) is spec:
            go_on(terminal, "n")
    seen(terminal, "Answer 1/3", "Movement strategy", "not supported", "Enter", "plan")
    terminal.press("enter")
    seen(terminal, "Plan 3/3", "Enter", "note")
    terminal.press("enter")
    seen(terminal, "Knee note", " w ", "write to a file")
    return done
