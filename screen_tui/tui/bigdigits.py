"""Numbers and sides that can be read across a room: drawn from blocks, as large as fits.

Two small fonts are drawn here dot by dot, five and seven dots high. A dot is two columns wide and
one row high, about a square on most terminals, or a whole multiple of that on a large window.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain

DOT = "█"

_FIVE = {
    "0": "### #.# #.# #.# ###",
    "1": ".#. ##. .#. .#. ###",
    "2": "### ..# ### #.. ###",
    "3": "### ..# .## ..# ###",
    "4": "#.# #.# ### ..# ..#",
    "5": "### #.. ### ..# ###",
    "6": "### #.. ### #.# ###",
    "7": "### ..# .#. .#. .#.",
    "8": "### #.# ### #.# ###",
    "9": "### #.# ### ..# ###",
    ".": ". . . . #",
    ":": ". # . # .",
    "-": ".. .. ## .. ..",
    "/": "..# ..# .#. #.. #..",
    " ": "... ... ... ... ...",
    "B": "##. #.# ##. #.# ##.",
    "E": "### #.. ##. #.. ###",
    "F": "### #.. ##. #.. #..",
    "G": "#### #... #.## #..# ####",
    "H": "#.# #.# ### #.# #.#",
    "I": "# # # # #",
    "L": "#.. #.. #.. #.. ###",
    "O": "### #.# #.# #.# ###",
    "R": "##. #.# ##. #.# #.#",
    "T": "### .#. .#. .#. .#.",
}

_SEVEN = {
    "0": ".##. #..# #..# #..# #..# #..# .##.",
    "1": "..#. .##. ..#. ..#. ..#. ..#. .###",
    "2": ".##. #..# ...# ..#. .#.. #... ####",
    "3": ".##. #..# ...# .##. ...# #..# .##.",
    "4": "#..# #..# #..# #### ...# ...# ...#",
    "5": "#### #... ###. ...# ...# #..# .##.",
    "6": ".##. #... #... ###. #..# #..# .##.",
    "7": "#### ...# ...# ..#. ..#. .#.. .#..",
    "8": ".##. #..# #..# .##. #..# #..# .##.",
    "9": ".##. #..# #..# .### ...# ...# .##.",
    ".": ". . . . . . #",
    ":": ". . # . # . .",
    "-": "... ... ... ### ... ... ...",
    "/": "...# ...# ..#. ..#. .#.. #... #...",
    " ": ".... .... .... .... .... .... ....",
}


@dataclass(frozen=True, slots=True)
class _Size:
    """A font at a scale; ``wide`` and ``tall`` are the columns and rows of one dot."""

    font: dict[str, str]
    wide: int
    tall: int

    @property
    def rows(self) -> int:
        return len(self.font["0"].split()) * self.tall

    def has(self, text: str) -> bool:
        return all(sign in self.font for sign in text)

    def columns(self, text: str) -> int:
        dots = sum(len(self.font[sign].split()[0]) + 1 for sign in text) - 1
        return dots * self.wide


_SIZES = (
    _Size(_SEVEN, wide=4, tall=2),
    _Size(_FIVE, wide=4, tall=2),
    _Size(_SEVEN, wide=2, tall=1),
    _Size(_FIVE, wide=2, tall=1),
    _Size(_FIVE, wide=1, tall=1),
)


def big(text: str, columns: int, rows: int) -> tuple[str, ...]:
    """Draw a number, or a side, in the largest size that fits.

    Args:
        text: Digits, point, colon, hyphen, slash and space; the letters of LEFT, RIGHT and BOTH.
        columns: Columns there are.
        rows: Rows there are.

    Returns:
        The rows from top to bottom, all equally long. Where nothing fits, or the text holds another
        character, the one row is the text itself.
    """
    for size in _SIZES if text else ():
        if size.has(text) and size.rows <= rows and size.columns(text) <= columns:
            return _draw(text, size)
    return (text,)


def _draw(text: str, size: _Size) -> tuple[str, ...]:
    glyphs = [size.font[sign].split() for sign in text]
    drawn = []
    for dots in zip(*glyphs, strict=True):
        row = ".".join(dots)
        cells = "".join((DOT if mark == "#" else " ") * size.wide for mark in row)
        drawn.append([cells] * size.tall)
    return tuple(chain.from_iterable(drawn))
