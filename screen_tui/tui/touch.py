"""From a click or a tap to the key it stands for, so that a mouse can do all that keys do."""

from __future__ import annotations

from typing import Literal

from textual import events

from screen_tui.tui.drawing.rows import Row, Span

Typing = Literal["", "number", "text"]
"""What is being typed at the moment."""

_CHARACTERS: dict[Typing, str] = {
    "": "",
    "number": "1234567890.-",
    "text": "abcdefghijklmnopqrstuvwxyz1234567890.,-?",
}


def keypad(typing: Typing, width: int) -> list[Row]:
    """Keys to click for what is being typed, for those who have no keyboard at hand."""
    keys = [Span(f" {one} ", "key", one) for one in _CHARACTERS[typing]]
    if typing == "text":
        keys.append(Span(" Space ", "key", "space"))
    rows: list[Row] = []
    line: list[Span] = []
    used = 0
    for key in keys:
        room = len(key.text) + 1
        if used + room > width + 1:
            rows.append(tuple(line))
            line, used = [], 0
        line += [key, Span(" ")]
        used += room
    return [*rows, tuple(line)] if line else rows


def key_pressed(press: str, when: float) -> events.Key:
    """The key press that a click stands for, with the time of the click.

    Args:
        press: The name of the key, as `flow.keys.action_key` gives it.
        when: Monotonic seconds at which the click was read from the terminal.
    """
    event = events.Key(press, " " if press == "space" else press if len(press) == 1 else None)
    event.time = when
    return event
