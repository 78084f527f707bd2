"""Text as plain as a record system can take it, and text broken into lines.

Many record systems re-encode or drop what is not printable ASCII.
"""

from __future__ import annotations

import re
import unicodedata

from rich.cells import cell_len, chop_cells

UNKNOWN = "?"
"""Stands for a character that has no plain spelling."""

_SPELLED = str.maketrans(
    {
        "\u2010": "-", "\u2011": "-", "\u2012": "-", "\u2013": "-", "\u2014": "-",
        "\u2015": "-", "\u2212": "-", "\u2022": "-", "\u00b7": "-", "\u00ad": "",
        "\u2018": "'", "\u2019": "'", "\u201a": "'", "\u201b": "'", "\u2032": "'",
        "\u00b4": "'", "\u201c": '"', "\u201d": '"', "\u201e": '"', "\u2033": '"',
        "\u00ab": '"', "\u00bb": '"', "\u2039": "'", "\u203a": "'",
        "\u2265": ">=", "\u2264": "<=", "\u2260": "!=", "\u2248": "~", "\u00b1": "+/-",
        "\u00d7": "x", "\u00f7": "/", "\u2044": "/", "\u2192": "->", "\u2190": "<-",
        "\u00b5": "u", "\u03bc": "u", "\u20ac": "EUR", "\u00df": "ss", "\u00e6": "ae",
        "\u00c6": "AE", "\u0153": "oe", "\u0152": "OE", "\u00f8": "o", "\u00d8": "O",
        "\u0142": "l", "\u0141": "L", "\u0111": "d", "\u0110": "D", "\u00f0": "d",
        "\u00d0": "D", "\u00fe": "th", "\u00de": "Th", "\u0131": "i",
    }
)  # fmt: skip

_DEGREE = re.compile(r" ?\u00b0")


def fold(text: str) -> str:
    """Spell a text in printable ASCII.

    Accents are dropped, signs are spelled out (``5\u00b0`` becomes ``5 deg``), every kind of space
    becomes a blank, what cannot be seen is left out, and what is left over becomes ``?``.
    """
    if text.isascii() and text.isprintable():
        return text
    spelled = _DEGREE.sub(" deg", text).translate(_SPELLED)
    # Compatibility forms (ligatures, full-width letters) can hide a sign that has a spelling.
    apart = unicodedata.normalize("NFKD", spelled).translate(_SPELLED)
    return "".join(_plain(character) for character in apart)


def _plain(character: str) -> str:
    if " " <= character <= "~":
        return character
    category = unicodedata.category(character)
    if category in {"Zs", "Zl", "Zp"} or character in "\t\n\r\v\f":
        return " "
    if category in {"Mn", "Me", "Cf"}:
        return ""
    return UNKNOWN


def characters_lost(text: str) -> int:
    """Count the characters of a text for which `fold` can only write a question mark."""
    return fold(text).count(UNKNOWN) - text.count(UNKNOWN)


def cells(text: str) -> int:
    """The columns a text takes, counted as the terminal is drawn to."""
    # The library keeps every text it measured; most of ours need no measuring.
    return len(text) if text.isascii() and text.isprintable() else cell_len(text)


def wrapped(text: str, width: int) -> list[str]:
    """Break text at blanks into lines of at most ``width`` columns; longer words are chopped."""
    lines: list[str] = []
    used = width + 1
    for word in text.split():
        for piece in chop_cells(word, width) if cells(word) > width else [word]:
            if used + 1 + cells(piece) > width:
                lines.append(piece)
                used = cells(piece)
            else:
                lines[-1] += f" {piece}"
                used += 1 + cells(piece)
    return lines or [""]
