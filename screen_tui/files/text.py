"""Text made safe: characters that could steer a terminal, reorder text or hide it."""

from __future__ import annotations

import contextlib
import re
import sys
import unicodedata
from collections.abc import Callable
from typing import Final

REFUSED: Final = (
    (0x0000, 0x001F),  # control characters; tabs and line breaks too, as every text is a paragraph
    (0x007F, 0x009F),
    (0x2028, 0x2029),  # further breaks of lines and paragraphs
    (0xD800, 0xDFFF),  # halves of characters
    (0xFFF9, 0xFFFB),  # marks of a second text that lies beneath the first
    # What draws nothing and takes no column: Default_Ignorable_Code_Point of the Unicode Character
    # Database. The marks that turn the direction of writing are among them, and so are joiners and
    # variation selectors, though some scripts have a use for those: two labels that look the same
    # must be the same.
    (0x00AD, 0x00AD),
    (0x034F, 0x034F),
    (0x061C, 0x061C),
    (0x115F, 0x1160),
    (0x17B4, 0x17B5),
    (0x180B, 0x180F),
    (0x200B, 0x200F),
    (0x202A, 0x202E),
    (0x2060, 0x206F),
    (0x3164, 0x3164),
    (0xFE00, 0xFE0F),
    (0xFEFF, 0xFEFF),
    (0xFFA0, 0xFFA0),
    (0xFFF0, 0xFFF8),
    (0x1BCA0, 0x1BCA3),
    (0x1D173, 0x1D17A),
    (0xE0000, 0xE0FFF),
)
"""The first and the last of each range of characters that no text may hold."""

_ONE_REFUSED = re.compile(f"[{''.join(f'{chr(first)}-{chr(last)}' for first, last in REFUSED)}]")


def first_control_character(text: str) -> str | None:
    """Name the first character that could steer a terminal, reorder or hide text, or give None."""
    found = _ONE_REFUSED.search(text)
    return found and _name(found)


def with_control_characters_as(mark: Callable[[str], str], text: str) -> str:
    """The text with each such character exchanged for the mark that its name gives."""
    return _ONE_REFUSED.sub(lambda found: mark(_name(found)), text)


def _name(found: re.Match[str]) -> str:
    return f"U+{ord(found.group()):04X}"


def harmless(text: str) -> str:
    """One line of a text: what could steer a terminal, break a line or hide becomes ``?``."""
    if text.isprintable() and first_control_character(text) is None:
        return text
    return "".join(
        "?"
        if unicodedata.category(character) == "Cf" or first_control_character(character)
        else character
        for character in text
    )


def tell(message: str) -> None:
    """Write one line to standard error; a name in it may hold anything, and steers no terminal."""
    if sys.stderr is not None:
        with contextlib.suppress(OSError):
            sys.stderr.write(f"{harmless(message)}\n")
