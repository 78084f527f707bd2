"""The way through a short screen, key by key, as a hand takes it in a real pseudo-terminal."""

from __future__ import annotations

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from support.form_keys import SHIPPED_NOT_ASKED
from support.terminal import Terminal

SAFE = ["n"] * len(load_protocol([protocols_folder()]).cautions)
"""No to every safety question."""

MOST_RESULT_PAGES = 4


def answer_questions(terminal: Terminal, load: str) -> None:
    """From Start to the first test, with no caution and that weight-bearing."""
    terminal.wait_for("New session")
    terminal.press("n")
    terminal.wait_for("Which knee")
    terminal.press("1", *SAFE)
    terminal.wait_for("How much weight")
    terminal.press(load)
    terminal.wait_for("Weeks since")
    terminal.press("enter")
    if load != "1":
        terminal.wait_for("Which other limits")
        terminal.press("enter")
    terminal.wait_for("What is the complaint")
    terminal.press("1")
    terminal.drain(0.3)
    terminal.press("enter")
    terminal.wait_for("want to do again")
    terminal.press("1", "enter", *SHIPPED_NOT_ASKED, *"K-7", "enter", *"67", "enter", "1")
    terminal.press("enter")
    terminal.wait_for("Knee extension")
    # Where the next Enter follows too soon, it is taken for this one being held.
    terminal.drain(1.0)


def measure_a_knee(terminal: Terminal, passive: str, active: str, then: str) -> None:
    """Type both angles, keep them, and go on once what follows stands there."""
    terminal.press(passive, "enter")
    terminal.wait_for("> Active")
    terminal.press(*active, "enter")
    terminal.wait_for("Enter  save")
    # An Enter right behind the last one is taken for that one being held.
    terminal.drain(0.3)
    terminal.press("enter")
    terminal.wait_for(then)


def short_screen_to_the_note(terminal: Terminal) -> None:
    """From Start over both knees and the result to the note, nobody bearing weight."""
    answer_questions(terminal, load="5")
    measure_a_knee(terminal, "0", "1", then="LEFT LEG")
    measure_a_knee(terminal, "2", "14", then="Quadriceps set")
    terminal.press("g")
    terminal.wait_for("Quadriceps weakness, left")
    # The result has as many pages as it needs.
    for _ in range(MOST_RESULT_PAGES):
        if "Knee note" not in terminal.text:
            terminal.press("enter")
            terminal.drain(0.3)
    terminal.wait_for("Knee note")
