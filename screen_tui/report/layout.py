"""A document laid out to a width, for whatever is drawn or printed in lines; and as plain text."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from screen_tui.report.document import Bars, Document, Line, Part, Role, Section, Table
from screen_tui.report.text import cells, fold, wrapped

PAPER = 78
"""Columns of a text for the record."""

GAP = 2
"""Columns between two of a table, or between a bar and what is beside it."""

_LEAST_BESIDE = 16
"""Columns a text must have beside its mark, or it goes below."""

_LEAST_COLUMN, _LEAST_TOLD = 6, 12
"""Columns below which no cell, and none behind the first, gives way."""

_BAR, _MOST_BESIDE = 30, 36
_FILLED, _EMPTY = "=", "-"
_MORE = "..."


@dataclass(frozen=True, slots=True)
class Span:
    """A piece of text with one role; a click or a tap on it stands for the key of that name."""

    text: str
    role: Role = "plain"
    press: str = ""


Row = tuple[Span, ...]
"""One line; a heading is one span of that role."""

Cite = Callable[[str], str]
"""What is written behind a text for the id of its source; empty for nothing."""


@dataclass(frozen=True, slots=True)
class Layout:
    """How documents are laid out.

    Attributes:
        most: The most lines a paragraph takes that may be cut; None for all.
        most_of_all: The most lines of the others, but for a verdict; None for all.
    """

    width: int = PAPER
    cite: Cite = lambda _: ""
    most: int | None = None
    most_of_all: int | None = None
    ascii_only: bool = False

    def lines(self, document: Document) -> list[Row]:
        """Lay out a document; sections without parts are left out."""
        found: list[Row] = []
        for text in self._lines_of(document.title):
            found.append((Span(text, "strong"),))
        for section in document.sections:
            if not section.parts:
                continue
            if found and section.apart and document.spaced:
                found.append(())
            found += self._section(section, document.margin)
        return found

    def _section(self, section: Section, margin: int) -> Iterator[Row]:
        for text in self._lines_of(section.title):
            yield (Span(text, "heading"),)
        margin = margin if section.tag else 0
        inner = replace(self, width=self.width - margin)
        body = [line for part in section.parts for line in inner.part(part)]
        for at, line in enumerate(body):
            tag = self._spelled(section.tag) if at == 0 else ""
            yield (Span(f"{tag:<{margin}}", "strong"), *line) if margin else line

    def _lines_of(self, title: str) -> list[str]:
        return wrapped(self._spelled(title), self.width) if title else []

    def part(self, part: Part) -> list[Row]:
        match part:
            case Line():
                return self._line(part)
            case Bars():
                return self._bars(part)
            case Table():
                return self._table(part)

    def _line(self, line: Line) -> list[Row]:
        cited = self.cite(line.source) if line.source else ""
        wording = self._spelled(" ".join(part for part in (line.text, cited) if part))
        label = f"{self._spelled(line.label)}: " if line.label else ""
        mark = f"{self._spelled(line.mark)} " if line.mark else ""
        mark = f" {mark} " if line.press else mark
        inset = " " * (GAP * line.level)
        hang = cells(inset) + (cells(mark) if mark else GAP if label else 0)
        first = cells(inset) + cells(mark)
        if self.width - max(hang, first) < _LEAST_BESIDE:
            hang = first = cells(inset)
            mark, label = "", f"{mark}{label}"
        broken = self._broken(f"{label}{wording}", self.width - first, self.width - hang)
        most = None if line.role == "verdict" else self.most if line.cut else self.most_of_all
        if most and len(broken) > most:
            broken = [*broken[: most - 1], self._cut(broken[most - 1], self.width - hang)]
        role: Role = "strong" if line.role == "verdict" else line.role
        of_mark: Role = "key" if line.press else "verdict" if line.role == "verdict" else "strong"
        head = (Span(inset), Span(mark[:-1], of_mark, line.mark if line.press else ""))
        lines: list[Row] = []
        for at, text in enumerate(broken):
            before = (*head, Span(" " if mark else "")) if at == 0 else (Span(" " * hang),)
            name = label.rstrip()
            if at == 0 and name and text.startswith(name):
                pieces = [Span(name, "strong"), Span(text.removeprefix(name), role)]
            else:
                pieces = [Span(text, role)]
            lines.append(tuple(piece for piece in (*before, *pieces) if piece.text))
        return lines

    def _broken(self, text: str, first: int, rest: int) -> list[str]:
        """Break a text whose first line may have other columns than those that follow."""
        lines = wrapped(text, max(first, 1))
        if len(lines) == 1 or first == rest:
            return lines
        head = lines[0]
        return [head, *wrapped(" ".join(lines[1:]), max(rest, 1))]

    def _fitted(self, text: str, width: int) -> str:
        spelled = self._spelled(text)
        return spelled if cells(spelled) <= width else self._cut(spelled, width)

    def _cut(self, text: str, width: int) -> str:
        while text and cells(text) + 1 + len(_MORE) > width:
            text = text.rpartition(" ")[0] if " " in text else text[:-1]
        return f"{text} {_MORE}".strip()

    def _bars(self, part: Bars) -> list[Row]:
        beside = [self._fitted(bar.words, _MOST_BESIDE) for bar in part.bars]
        words = max(map(cells, beside), default=0)
        room = self.width - words - GAP
        names = [self._fitted(bar.label, room) for bar in part.bars]
        column = max(map(cells, names), default=0)
        length = min(_BAR, self.width - column - words - 2 * GAP)
        lines: list[Row] = []
        for name, text, bar in zip(names, beside, part.bars, strict=True):
            drawn = self._filled(bar.share, max(length, 0))
            padded = name + " " * (column - cells(name) + GAP)
            lines.append(
                (
                    Span(padded, "strong" if bar.strong else "plain"),
                    Span(f"{drawn}{text}".rstrip()),
                )
            )
        return lines

    def _filled(self, share: float | None, length: int) -> str:
        """The cells of a bar with the gap behind them; nothing where there is no room."""
        filled = round(length * (share or 0))
        cells_of = _EMPTY if share is not None else " "
        return f"{_FILLED * filled}{cells_of * (length - filled)}{'':<{GAP}}" if length else ""

    def _table(self, table: Table) -> list[Row]:
        rows = [[self._spelled(cell) for cell in row] for row in (table.titles, *table.rows)]
        widths = self._columns(rows)
        lines: list[Row] = []
        for at, row in enumerate(rows):
            spans = [(row[a], _width_of(widths, a, end)) for a, end in _spans(row)]
            broken = [wrapped(cell, width) for cell, width in spans]
            for place in range(max(map(len, broken))):
                cut = [cell[place] if place < len(cell) else "" for cell in broken]
                text = (" " * GAP).join(
                    cell + " " * (width - cells(cell))
                    for cell, (_, width) in zip(cut, spans, strict=True)
                )
                lines.append((Span(text.rstrip(), "plain" if at else "strong"),))
        return lines

    def _columns(self, rows: Sequence[Sequence[str]]) -> list[int]:
        """As wide as their widest cell; where that is too wide, the widest give way.

        A cell that goes on over empty ones widens the last of them only by what it lacks.
        """
        widths = [
            max(cells(row[at]) for row in rows if at + 1 == len(row) or row[at + 1] or at == 0)
            for at in range(len(rows[0]))
        ]
        for row in rows:
            for at, end in _spans(row):
                widths[end - 1] += max(cells(row[at]) - _width_of(widths, at, end), 0)
        room = self.width - GAP * (len(widths) - 1)
        while sum(widths) > room and max(widths) > _LEAST_COLUMN:
            # What a row is about stays whole as long as it can.
            others = widths[1:] if max(widths[1:], default=0) > _LEAST_TOLD else widths
            widths[len(widths) - len(others) + others.index(max(others))] -= 1
        return widths

    def _spelled(self, text: str) -> str:
        return fold(text) if self.ascii_only else text


def _spans(row: Sequence[str]) -> Iterator[tuple[int, int]]:
    """The place and the end of each cell: all but the first go on over empty ones behind."""
    starts = [at for at, cell in enumerate(row) if at < 2 or cell]
    return zip(starts, [*starts[1:], len(row)], strict=True)


def _width_of(widths: Sequence[int], at: int, end: int) -> int:
    return sum(widths[at:end]) + GAP * (end - at - 1)


def write_text(document: Document, layout: Layout | None = None) -> str:
    """A document as plain text: headings in capitals, lines ended by line feeds.

    No line has trailing blanks; the same arguments always give the same text.
    """
    lines = []
    for line in (layout or Layout()).lines(document):
        text = "".join(piece.text for piece in line).rstrip()
        lines.append(text.upper() if line and line[0].role == "heading" else text)
    return "\n".join(lines) + "\n"
