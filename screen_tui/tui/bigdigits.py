"""Numbers that can be read across a room: drawn from blocks, as large as fits.

Two small fonts are drawn here dot by dot, five and seven dots high. A dot is two columns wide and
one row high, about a square on most terminals, or a whole multiple of that on a large window. In
the smallest windows a third one draws digits with strokes, three rows high.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

DOT = "█"

_SIGNS = "0123456789.:-/ "


def _font(*rows: str, apart: str = " ") -> dict[str, tuple[str, ...]]:
    """A font from its rows, in each the same row of all signs."""
    signs = zip(*(line.split(apart) for line in rows), strict=True)
    return dict(zip(_SIGNS, signs, strict=True))


_FIVE = _font(
    "### .#. ### ### #.# ### ### ### ### ### . . .. ..# ...",
    "#.# ##. ..# ..# #.# #.. #.. ..# #.# #.# . # .. ..# ...",
    "#.# .#. ### .## ### ### ### .#. ### ### . . ## .#. ...",
    "#.# .#. #.. ..# ..# ..# #.# .#. #.# ..# . # .. #.. ...",
    "### ### ### ### ..# ### ### .#. ### ### # . .. #.. ...",
)

_SEVEN = _font(
    ".##. ..#. .##. .##. #..# #### .##. #### .##. .##. . . ... ...# ....",
    "#..# .##. #..# #..# #..# #... #... ...# #..# #..# . . ... ...# ....",
    "#..# ..#. ...# ...# #..# ###. #... ...# #..# #..# . # ... ..#. ....",
    "#..# ..#. ..#. .##. #### ...# ###. ..#. .##. .### . . ### ..#. ....",
    "#..# ..#. .#.. ...# ...# ...# #..# ..#. #..# ...# . # ... .#.. ....",
    "#..# ..#. #... #..# ...# #..# #..# .#.. #..# ...# . . ... #... ....",
    ".##. .### #### .##. ...# .##. .##. .#.. .##. .##. # . ... #... ....",
)

_STROKES = _font(
    " _ ,   , _ , _ ,   , _ , _ , _ , _ , _ , , ,   ,  ,   ",
    "| |,  |, _|, _|,|_|,|_ ,|_ ,  |,|_|,|_|, ,., _ , /,   ",
    "|_|,  |,|_ , _|,  |, _|,|_|,  |,|_|, _|,.,.,   ,/ ,   ",
    apart=",",
)


@dataclass(frozen=True, slots=True)
class _Size:
    """A font at a scale; ``wide`` and ``tall`` are the columns and rows of one dot."""

    font: dict[str, tuple[str, ...]]
    wide: int
    tall: int

    @property
    def rows(self) -> int:
        return len(self.font["0"]) * self.tall

    def has(self, text: str) -> bool:
        return all(sign in self.font for sign in text)

    def columns(self, text: str) -> int:
        dots = sum(len(self.font[sign][0]) + 1 for sign in text) - 1
        return dots * self.wide


_SIZES = (
    _Size(_SEVEN, wide=4, tall=2),
    _Size(_FIVE, wide=4, tall=2),
    _Size(_SEVEN, wide=2, tall=1),
    _Size(_FIVE, wide=2, tall=1),
    _Size(_FIVE, wide=1, tall=1),
)

_STROKE_ROWS = 3


def big_beside(texts: Sequence[str], columns: int, rows: int) -> tuple[tuple[str, ...], ...]:
    """Draw numbers that are shown beside each other, in the largest size in which all fit.

    There are so many columns for all of them, without what is between them.

    Returns:
        For each its rows from top to bottom, all equally long. Where nothing fits, or a text holds
        more than digits, point, colon, hyphen, slash and space, the one row is the text itself.
    """
    for size in _SIZES:
        if not all(text and size.has(text) for text in texts) or size.rows > rows:
            continue
        if sum(size.columns(text) for text in texts) <= columns:
            return tuple(_draw(text, size) for text in texts)
    strokes = [[_STROKES[sign] for sign in text] for text in texts if set(text) <= set(_STROKES)]
    if rows >= _STROKE_ROWS and len(strokes) == len(texts) and all(strokes):
        drawn = tuple(
            tuple(" ".join(line) for line in zip(*glyphs, strict=True)) for glyphs in strokes
        )
        if sum(len(one[0]) for one in drawn) <= columns:
            return drawn
    return tuple((text,) for text in texts)


def _draw(text: str, size: _Size) -> tuple[str, ...]:
    glyphs = [size.font[sign] for sign in text]
    drawn = []
    for dots in zip(*glyphs, strict=True):
        row = ".".join(dots)
        cells = "".join((DOT if mark == "#" else " ") * size.wide for mark in row)
        drawn.append([cells] * size.tall)
    return tuple(chain.from_iterable(drawn))
