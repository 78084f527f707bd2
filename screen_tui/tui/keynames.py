"""Between a key event and the name the rest of the program uses for the key."""

from __future__ import annotations

from textual.events import Key
from textual.keys import key_to_character

from screen_tui.trial import keys

_PRINTED_NAMES = ("exclamation_mark", "question_mark", "slash")


def key_name(event: Key) -> str:
    """Name the key: the character it prints, or ``space``, ``enter``, ``tab``, ``up`` and the like.

    Some terminals send a key without its character; then its name tells the character.
    """
    character = event.character
    if character is None and event.key in _PRINTED_NAMES:
        character = key_to_character(event.key)
    return keys.action_key(event.key, character)


def typed_character(event: Key) -> str:
    """The character a key types, or "" for a key that types nothing."""
    return keys.typed_character(event.key, event.character)


def key_pressed(press: str, when: float) -> Key:
    """The key press that a click stands for, with the time of the click.

    Args:
        press: The name of the key, as `trial.keys.action_key` gives it.
        when: Monotonic seconds at which the click was read from the terminal.
    """
    event = Key(press, " " if press == "space" else press if len(press) == 1 else None)
    event.time = when
    return event
