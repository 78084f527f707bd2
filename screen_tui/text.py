"""Text from people and files: what may pass, and what is refused as dangerous to show."""

from __future__ import annotations

import unicodedata

from pydantic import AfterValidator

_BIDI_CONTROLS = frozenset(
    "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
)


def first_control_character(text: str) -> str | None:
    """Name the first character that could steer a terminal or reorder text, or give None.

    Tabs and line breaks count too: every text of this program is one paragraph.
    """
    for character in text:
        if unicodedata.category(character) in {"Cc", "Cs"} or character in "\u2028\u2029":
            return f"U+{ord(character):04X}"
        if character in _BIDI_CONTROLS:
            return f"U+{ord(character):04X}"
    return None


def _refuse(text: str) -> str:
    found = first_control_character(text)
    if found is not None:
        raise ValueError(f"holds the control character {found}; type it again as plain text")
    return text


refuse_control_characters = AfterValidator(_refuse)
