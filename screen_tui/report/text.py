"""Text as plain as a record system can take it: printable ASCII, and lines of 72 columns.

Many record systems re-encode or drop anything else, and wrap what is wider.
"""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections.abc import Iterable

from screen_tui.protocol.model import Protocol
from screen_tui.report.facts import Fact

WIDTH = 72

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


def wrap(text: str, *, indent: int = 0, hang: int = 0, width: int = WIDTH) -> list[str]:
    """Break a paragraph into lines.

    Args:
        text: The paragraph; runs of blanks count as one.
        indent: Blanks before the first line.
        hang: Further blanks before the lines that follow.
        width: The most columns a line may have, indent included.

    Returns:
        The lines, without line ends, trailing blanks or tabs. A word wider than a line is cut; an
        empty paragraph gives no line.
    """
    lines = textwrap.wrap(
        " ".join(text.split()),
        width=width,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hang),
        break_on_hyphens=False,
    )
    # Where a blank falls on the very end of a line before a cut word, textwrap leaves it there.
    return [line.rstrip() for line in lines]


def labelled(label: str, value: str, *, indent: int = 0, width: int = WIDTH) -> list[str]:
    """Write ``label: value``, with the lines that follow set in by two."""
    return wrap(f"{label}: {value}", indent=indent, hang=2, width=width)


class TextWriter:
    """Lines of a text in the making; every line in it has been folded and wrapped.

    Each source gets a number when it is first cited; `sources` lists them.

    Args:
        protocol: Knows the sources that are cited.
        ascii_only: Fold to printable ASCII. Otherwise the text keeps its own characters and the
            width counts characters.
    """

    def __init__(self, protocol: Protocol | None = None, *, ascii_only: bool = True) -> None:
        self.ascii_only = ascii_only
        self._known = {} if protocol is None else {one.id: one for one in protocol.sources}
        self._numbers: dict[str, int] = {}
        self._lines: list[str] = []

    def blank(self) -> None:
        """Leave one blank line, never two and never at the top."""
        if self._lines and self._lines[-1]:
            self._lines.append("")

    def heading(self, text: str) -> None:
        """Start a block under a heading in capitals."""
        self.blank()
        self.text(text.upper())

    def text(self, text: str, *, indent: int = 0, hang: int = 0) -> None:
        """Write a paragraph."""
        self._lines += wrap(self._spelled(text), indent=indent, hang=hang)

    def item(self, label: str, value: str, *, indent: int = 0) -> None:
        """Write ``label: value``; an empty value reads ``not recorded``, never as if normal."""
        spelled = self._spelled(value)
        self._lines += labelled(
            self._spelled(label), spelled if spelled.strip() else "not recorded", indent=indent
        )

    def drawn(self, lines: Iterable[str], *, indent: int = 0) -> None:
        """Write lines whose blanks matter, such as those of a table; they are not wrapped.

        A line wider than the sheet is cut; what is drawn has to fit.
        """
        for line in lines:
            self._lines.append((" " * indent + self._spelled(line))[:WIDTH].rstrip())

    def cite(self, source_id: str) -> str:
        """Give ``[3]``, or ``[3, clinical judgement]`` where the source is not a published one."""
        if not source_id:
            return "[no source given]"
        number = self._numbers.setdefault(source_id, len(self._numbers) + 1)
        source = self._known.get(source_id)
        if source is None or source.provenance == "published":
            return f"[{number}]"
        return f"[{number}, {source.provenance}]"

    def cited(self, fact: Fact) -> str:
        """Give the text of a fact, followed by its source where it has one."""
        return fact.text if fact.source is None else f"{fact.text} {self.cite(fact.source)}"

    def facts(self, facts: Iterable[Fact], *, indent: int = 0) -> None:
        """Write facts with their sources, each behind its label where it has one."""
        for fact in facts:
            if fact.label:
                self.item(fact.label, self.cited(fact), indent=indent)
            else:
                self.text(self.cited(fact), indent=indent)

    def sources(self, none: str = "") -> None:
        """Write the sources cited so far; where there are none, ``none`` under the heading."""
        if self._numbers or none:
            self.heading("Sources")
        for source_id, number in self._numbers.items():
            source = self._known.get(source_id)
            if source is None:
                entry = f"{source_id}: the protocol at hand does not describe this source."
            else:
                published = " [published]" if source.provenance == "published" else ""
                entry = f"{source.citation}{published} {source.note}".rstrip()
            self.text(f"[{number}] {entry}", hang=4)
        if not self._numbers and none:
            self.text(none)

    def _spelled(self, text: str) -> str:
        return fold(text) if self.ascii_only else text

    def __str__(self) -> str:
        """Give the whole text, ended by one line feed."""
        return "\n".join(self._lines).rstrip("\n") + "\n"
