"""The parts of a page for a patient, before it is text or HTML."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

BlockKind = Literal["title", "heading", "text", "label", "steps", "bullets", "fill"]


@dataclass(frozen=True, slots=True)
class Block:
    """One part of a page.

    Attributes:
        kind: ``title`` and ``heading`` are headings; ``text`` is a paragraph; ``label`` is a small
            heading over what follows it; ``steps`` are numbered, ``bullets`` are not; ``fill`` is
            a line to be filled in by hand.
        lines: The texts: one of them, or one for each step, bullet or sentence of a paragraph.
    """

    kind: BlockKind
    lines: tuple[str, ...]


Page = tuple[Block, ...]
"""A page from top to bottom."""


def sentences(text: str) -> tuple[str, ...]:
    """A paragraph cut behind each full stop that a blank and a capital follow."""
    found: list[str] = []
    begun = 0
    for place in range(len(text) - 2):
        if text[place] in ".!?" and text[place + 1] == " " and text[place + 2].isupper():
            found.append(text[begun : place + 1])
            begun = place + 2
    return (*found, text[begun:]) if text[begun:] else tuple(found)
