"""Keys: their names, what each does at this moment, and the line that says so."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from textual.events import Key
from textual.keys import key_to_character

from screen_tui.trial.keymap import action_key
from screen_tui.tui.drawing.rows import Row, Span, cells, flowed

_PRINTED_NAMES = ("exclamation_mark", "question_mark", "slash")


def key_name(event: Key) -> str:
    """Name the key: the character it prints, or ``space``, ``enter``, ``tab``, ``up`` and the like.

    Some terminals send a key without its character; then its name tells the character.
    """
    character = event.character
    if character is None and event.key in _PRINTED_NAMES:
        character = key_to_character(event.key)
    return action_key(event.key, character)


def key_pressed(press: str, when: float) -> Key:
    """The press of the key of that name that a click stands for, at the time it was read at."""
    event = Key(press, " " if press == "space" else press if len(press) == 1 else None)
    event.time = when
    return event


_BETWEEN = 2
_NAMES = {"Bksp": "backspace", "↑": "up", "↓": "down", "←": "left", "→": "right"}
"""Names of keys that are printed in another way."""


@dataclass(frozen=True, slots=True)
class KeyHint:
    """A key, as it is printed, and what it does now, in a word or two.

    Attributes:
        rank: What goes first when there is no room: the highest. Rank 0 always stays.
        do: Does it; None where the screen takes the key in another way.
        also: Names of other keys that do the same.
    """

    key: str
    does: str
    rank: int = 5
    do: Callable[[], object] | None = None
    also: tuple[str, ...] = ()

    @property
    def width(self) -> int:
        return cells(self.key) + cells(self.does) + 3

    @property
    def press(self) -> str:
        """The name of the key; "" where the hint names several."""
        return self.spans[-1].press

    @property
    def spans(self) -> Row:
        """The hint as it is drawn; a click presses the key, of several the one under it."""
        if re.search(r"\d-\d", self.key):
            # A range: what its keys do has places of its own to be clicked.
            return Span(f" {self.key} ", "key"), Span(f" {self.does}")
        keys = re.findall(r"[A-Za-z]+|\S|\s", self.key)
        presses = [_NAMES.get(key, key.lower() if key not in (" ", "/") else "") for key in keys]
        presses = ["/"] if self.key == "/" else presses
        only = presses[0] if len(presses) == 1 else ""
        parts = (Span(key, "key", press) for key, press in zip(keys, presses, strict=True))
        edge = Span(" ", "key", only)
        return edge, *parts, edge, Span(f" {self.does}", "plain", only)


def digits(count: int) -> str:
    """The digit keys of so many choices, such as ``1-3``."""
    return "1" if count == 1 else f"1-{count}"


def do_key(hints: Sequence[KeyHint], key: str) -> bool:
    """Do what a key does; False where no hint says what."""
    for hint in hints:
        if hint.do is not None and key in (hint.press, *hint.also):
            hint.do()
            return True
    return False


def fitting(hints: Sequence[KeyHint], width: int, rows: int = 2) -> list[KeyHint]:
    """The hints that fit on so many lines of that width, in their order.

    The hint of the highest rank is dropped, of equals the last one, until all that are left do.
    """
    left = [hint for hint in hints if hint.width <= width]
    while _lines_taken(left, width) > rows:
        left.remove(max(reversed(left), key=lambda hint: hint.rank))
    return left


def _lines_taken(hints: Sequence[KeyHint], width: int) -> int:
    lines, used = 0, width
    for hint in hints:
        used += _BETWEEN + hint.width
        if used > width:
            lines, used = lines + 1, hint.width
    return lines


def lay_out(hints: Sequence[KeyHint], width: int, rows: int = 2) -> list[Row]:
    """Draw the hints that fit, keys set off from what they do."""
    return flowed([hint.spans for hint in fitting(hints, width, rows)], width, _BETWEEN)
