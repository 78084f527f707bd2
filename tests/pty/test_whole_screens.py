"""A whole screen in a real terminal, every test of it, from Start to the note."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest
from support.short_screen import SAFE
from support.terminal import Terminal

from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.protocol.timers import Hold, Measure, Quality, Steps, TimeForCount
from screen_tui.resources import protocols_folder
from screen_tui.session.sessionfile import load_session

pytestmark = pytest.mark.pty

COMMAND = Path(sys.executable).parent / "screen-tui"
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


def essentials(terminal: Terminal, spec: TestSpec) -> None:
    """What must stand on the screen of a test before it begins."""
    signs = {sign.id: sign.label for sign in PROTOCOL.signs}
    seen(terminal, "K-7", " min, ", "left", "!", *(signs[sign] for sign in spec.signs))
    text = terminal.text
    whose = ("R I G H T", "L E F T") if spec.sided else ("B O T H", "U P", "D O W N")
    assert any(word in text for word in whose), text
    if not isinstance(spec.timer, Measure):
        assert "Safety: " in text, text
        assert "Ends when: " in text, text


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


@pytest.mark.parametrize(
    ("size", "env", "goals"),
    # Every goal in the usual window; in the smallest one goal, so that it stays within a minute.
    [((80, 24), {}, "1234"), ((60, 20), {"NO_COLOR": "1"}, "1")],
    ids=["80x24", "60x20-without-colour"],
)
def test_a_whole_screen_has_all_that_matters_on_every_page(
    tmp_path: Path, size: tuple[int, int], env: dict[str, str], goals: str
) -> None:
    done: set[str] = set()
    with Terminal(COMMAND, home=tmp_path, size=size, env=env) as terminal:
        questions(terminal, goals)
        for _ in range(60):
            terminal.drain(0.4)
            if "Result" in terminal.text.splitlines()[0]:
                break
            spec = spec_on(terminal)
            essentials(terminal, spec)
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
        if env:
            cells = [cell for row in terminal.screen.buffer.values() for cell in row.values()]
            assert {cell.fg for cell in cells} | {cell.bg for cell in cells} == {"default"}
        terminal.press("enter")
        seen(terminal, "New screen")
        terminal.press("q")
        assert terminal.wait_for_end() == 0
    (path,) = (tmp_path / "sessions").glob("*.toml")
    session = load_session(path)
    assert {trial.test for trial in session.trials} == done
    assert len(done) >= (9 if len(goals) > 1 else 6)
    assert session.finished is not None
