"""Names of files and folders as they may be printed: they can hold any character at all."""

from __future__ import annotations

import unicodedata

_STEERING = {"Cc", "Cf", "Cs", "Zl", "Zp"}


def harmless(text: str) -> str:
    """One line of a text: what could steer a terminal, break a line or hide stands as ``?``."""
    if text.isprintable():
        return text
    return "".join(
        "?" if unicodedata.category(character) in _STEERING else character for character in text
    )
