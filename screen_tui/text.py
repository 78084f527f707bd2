"""Characters that could steer a terminal, reorder text or hide it: named, or replaced."""

from __future__ import annotations

import unicodedata

_STEERING = {"Cc", "Cf", "Cs", "Zl", "Zp"}
_BIDI_CONTROLS = frozenset(
    "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
)
_HIDDEN = (
    range(0x206A, 0x2070),  # deprecated; they change how letters and brackets are drawn
    range(0xFFF9, 0xFFFC),  # marks of a second text that lies beneath the first
    range(0xE0001, 0xE0002),  # these two: a whole alphabet that nobody sees
    range(0xE0020, 0xE0080),
)


def first_control_character(text: str) -> str | None:
    """Name the first character that could steer a terminal, reorder or hide text, or give None.

    Tabs and line breaks count too: every text of this program is one paragraph. Blanks without a
    width and joiners do not: some scripts need them, and pasted text is full of them.
    """
    if text.isascii() and text.isprintable():
        return None
    for character in text:
        if (
            unicodedata.category(character) in {"Cc", "Cs", "Zl", "Zp"}
            or character in _BIDI_CONTROLS
            or any(ord(character) in hidden for hidden in _HIDDEN)
        ):
            return f"U+{ord(character):04X}"
    return None


def harmless(text: str) -> str:
    """One line of a text: what could steer a terminal, break a line or hide stands as ``?``."""
    return "".join(
        "?" if unicodedata.category(character) in _STEERING else character for character in text
    )
