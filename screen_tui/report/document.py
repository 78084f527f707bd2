"""A document: what a page or a paper says, as data, before a writer gives it a form."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screen_tui.protocol.drawings import Drawing

Role = Literal["plain", "strong", "quiet", "first", "second", "key", "cursor", "verdict", "heading"]
"""How text is set off. Each is also known by weight, position or words, never by colour alone."""

TO_FILL_IN = "_" * 20
"""Stands where something is written by hand."""


@dataclass(frozen=True, slots=True)
class Line:
    """A paragraph.

    Attributes:
        label: What it is about, before a colon; empty for none.
        source: The id of the source the text rests on; None where it needs none.
        mark: What stands before it, such as a dash, a number, or the word of a verdict.
        press: Whether the mark is a key to press.
        level: How far it is set in.
        cut: Whether it may be cut short where there is little room.
    """

    text: str
    label: str = ""
    source: str | None = None
    role: Role = "plain"
    mark: str = ""
    press: bool = False
    level: int = 0
    cut: bool = True


@dataclass(frozen=True, slots=True)
class Bar:
    """A driver with its chance, or a visit with its number, and what it comes to in words.

    ``share`` is how much of the scale is filled, from 0 to 1; None for no number, and no bar.
    """

    label: str
    share: float | None
    words: str
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Bars:
    """Bars below each other, on one scale from 0 to 1."""

    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under titles; a cell that is too wide goes on below."""

    titles: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


Part = Line | Bars | Table


@dataclass(frozen=True, slots=True)
class Picture:
    """The drawing of an exercise, under its name; mirrored where the left leg does it."""

    drawing: Drawing
    name: str
    left: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """Parts that belong together.

    Attributes:
        title: A heading above them; empty for none.
        tag: A word in the margin beside the first of them; empty for none.
        apart: Whether a blank line comes before it.
        picture: A drawing beside it, for a page that can show one.
    """

    parts: tuple[Part, ...]
    title: str = ""
    tag: str = ""
    apart: bool = True
    picture: Picture | None = None


@dataclass(frozen=True, slots=True)
class Document:
    """Sections from top to bottom; those without parts are not written.

    Attributes:
        title: What it is; empty for a page that has its title elsewhere.
        margin: Columns kept for the tags of the sections that have one.
        spaced: Whether there are blank lines between sections.
    """

    sections: tuple[Section, ...]
    title: str = ""
    margin: int = 0
    spaced: bool = True
