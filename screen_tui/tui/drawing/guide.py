"""A guide drawn as rows: the little Markdown that the guides are written in."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from rich.cells import chop_cells

from screen_tui.tui.drawing.rows import Row, Span, paragraph, row, rule, stacked

_MARKS = re.compile(r"\*\*|`")
_ITEM = re.compile(r"^(- |\d+\. )", re.MULTILINE)
_WIDEST_HEAD = 22
"""Columns of the first cell of a table; a wider one stands on a line of its own."""


def draw_guide(text: str, width: int) -> list[Row]:
    """Draw headings, paragraphs, lists, tables of two columns and code.

    The first heading is left out, since the head of the page says it.
    """
    return stacked(_parts(text, width))


def _parts(text: str, width: int) -> Iterator[list[Row]]:
    for number, part in enumerate(re.split(r"^```\w*\n", text, flags=re.MULTILINE)):
        if number % 2:
            pieces = (chop_cells(line, width) or [""] for line in part.splitlines())
            yield [row(Span(piece, "strong")) for line in pieces for piece in line]
            continue
        for block in re.split(r"\n\s*\n", part.strip()):
            if not block.startswith("# "):
                yield _block(block, width) if block else []


def _block(block: str, width: int) -> list[Row]:
    lines = block.splitlines()
    if block.startswith("## "):
        return [rule(width, block.removeprefix("## "))]
    if block.startswith("|"):
        return _table([line.strip("| ").split(" | ", 1) for line in lines[2:]], width)
    if _ITEM.match(block):
        return _list(block, width)
    return paragraph(_plain(block), width)


def _table(cells: Sequence[Sequence[str]], width: int) -> list[Row]:
    firsts = [_plain(first) for first, _ in cells]
    column = min(max(map(len, firsts)), _WIDEST_HEAD) + 2
    heads = [row(Span(f" {first:<{column}}", "strong")) for first in firsts]
    return [
        made
        for head, (_, second) in zip(heads, cells, strict=True)
        for made in paragraph(_plain(second), width, first=head, indent=column + 1)
    ]


def _list(block: str, width: int) -> list[Row]:
    _, *parts = _ITEM.split(block)
    return [
        made
        for mark, text in zip(parts[::2], parts[1::2], strict=True)
        for made in paragraph(_plain(text), width, first=row(mark))
    ]


def _plain(text: str) -> str:
    """The text without the marks of Markdown, which a terminal does not need."""
    return " ".join(_MARKS.sub("", text).split())
