"""Characters that could steer a terminal, reorder text or hide it.

Apart from `screen_tui.text`, so that who only shows text needs no models.
"""

from __future__ import annotations

import re
from collections.abc import Callable

_CONTROL = re.compile(
    r"[\x00-\x1f\x7f-\x9f"
    r"\ud800-\udfff"  # halves of a character
    r"\u2028\u2029"  # line and paragraph ends
    r"\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"  # these turn the direction of text
    r"\u206a-\u206f"  # deprecated; they change how letters and brackets are drawn
    r"\ufff9-\ufffb"  # marks of a second text that lies beneath the first
    r"\U000e0001\U000e0020-\U000e007f]"  # a whole alphabet that nobody sees
)


def first_control_character(text: str) -> str | None:
    """Name the first character that could steer a terminal, reorder or hide text, or give None.

    Tabs and line breaks count too: every text of this program is one paragraph. Blanks without a
    width and joiners do not: some scripts need them, and pasted text is full of them.
    """
    found = _CONTROL.search(text)
    return found and _name(found)


def with_control_characters_as(mark: Callable[[str], str], text: str) -> str:
    """The text with each such character exchanged for the mark that its name gives."""
    return _CONTROL.sub(lambda found: mark(_name(found)), text)


def _name(found: re.Match[str]) -> str:
    return f"U+{ord(found.group()):04X}"
