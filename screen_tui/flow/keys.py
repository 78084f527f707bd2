"""Key names, made the same whatever terminal sent them."""

from __future__ import annotations

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
    """Give the printable character of a key press, or "" when it has none.

    Some terminals name a key without its character, so the name is asked first.

    Args:
        key: The name of the key, such as ``space``, ``a`` or ``full_stop``.
        character: The character sent with it, or None.
    """
    if key in _CHARACTER_OF:
        return _CHARACTER_OF[key]
    if character is not None and len(character) == 1:
        return character if character.isprintable() else ""
    return key if len(key) == 1 and key.isprintable() else ""


def action_key(key: str, character: str | None) -> str:
    """Give the name under which a key acts: ``space``, ``enter``, ``1``, ``+``, ``p``.

    Letters are lower case, so that a caps lock changes nothing.
    """
    name = _OTHER_NAMES.get(key, key)
    if name != key or name in ("space", "enter", "tab", "backspace"):
        return name
    typed = typed_character(key, character)
    return "space" if typed == " " else typed.lower() or name
