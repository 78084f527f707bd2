"""Key names, made the same whatever terminal sent them."""

from __future__ import annotations

from screen_tui.files.text import first_control_character

_CHARACTER_OF = {
    "space": " ",
    "plus": "+",
    "minus": "-",
    "full_stop": ".",
    "comma": ",",
    # The number pad.
    "add": "+",
    "subtract": "-",
    "decimal": ".",
    "separator": ",",
}
_OTHER_NAMES = {"return": "enter", "ctrl+m": "enter", "ctrl+h": "backspace", "backtab": "shift+tab"}


def typed_character(key: str, character: str | None) -> str:
    """Give the character a key press types, or "" for one that types nothing a text may hold.

    Some terminals name a key without its character, so the name is asked first.

    Args:
        key: The name of the key, such as ``space``, ``a`` or ``full_stop``.
        character: The character sent with it, or None.
    """
    if key in _CHARACTER_OF:
        return _CHARACTER_OF[key]
    typed = key if character is None or len(character) != 1 else character
    return typed if len(typed) == 1 and _may_be_typed(typed) else ""


def action_key(key: str, character: str | None) -> str:
    """Give the name under which a key acts: ``space``, ``enter``, ``1``, ``+``, ``p``.

    Letters are lower case, so that a caps lock changes nothing.
    """
    name = _OTHER_NAMES.get(key, key)
    if name != key or name in ("space", "enter", "tab", "backspace"):
        return name
    typed = typed_character(key, character)
    return "space" if typed == " " else typed.lower() or name


def _may_be_typed(character: str) -> bool:
    return character.isprintable() and first_control_character(character) is None
