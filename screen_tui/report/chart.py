"""A chart of a few visits as lines of text: one mark for each visit, at its date.

Visits are weeks apart, so nothing is drawn between the marks. Rows are cut so that a mark stands
in the shading exactly when its value is within the measurement error of the first one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Literal

from screen_tui.report.text import wrapped

ONE_VISIT = "one visit: no trend"
NO_VALUE = "no value: no trend"
MOST_POINTS = 12
LEAST_WIDTH, LEAST_HEIGHT = 40, 6


@dataclass(frozen=True, slots=True)
class Figure:
    """What a chart shows beside its points.

    Attributes:
        unit: The unit of all numbers.
        decimals: Decimals of the values.
        better: Which way is better.
        line: A published line, and in words what it asks, such as ``at least``; None for none.
        error: The least change that is one; the first value plus and minus this is shaded.
    """

    unit: str
    decimals: int
    better: Literal["higher", "lower"]
    line: tuple[str, float] | None = None
    error: float | None = None


@dataclass(frozen=True, slots=True)
class _Glyphs:
    mark: str
    apart: str
    shade: str
    line: str
    wall: str
    corner: str
    floor: str
    tick: str
    up: str
    down: str
    at_least: str
    plus_minus: str


_PLAIN = _Glyphs("*", "x", ".", "-", "|", "+", "-", "+", "^", "v", ">=", "+/-")
_FINE = _Glyphs(
    "\u25cf", "\u00d7", "\u2591", "\u2500", "\u2502", "\u2514", "\u2500", "\u2534",
    "\u2191", "\u2193", "\u2265", "\u00b1",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mark:
    """One visit on the chart.

    Attributes:
        on: The date of the visit.
        value: What was measured; None where nothing was.
        at_least: The true value is at least this: a full hold.
        apart: It cannot be compared with the first, so it gets a mark of its own.
    """

    on: date
    value: float | None
    at_least: bool = False
    apart: bool = False


def chart(
    marks: Sequence[Mark], figure: Figure, *, width: int = 56, height: int = 9, ascii: bool = False
) -> list[str]:
    """Draw the chart.

    Args:
        marks: At most twelve, in order of their dates.
        figure: Unit, which way is better, the line and the error.
        width: Columns, at least 40.
        height: Rows of the field in which the marks stand, at least 6.
        ascii: Only printable ASCII.

    Returns:
        Lines of at most `width` columns without line ends or trailing blanks: which way is better,
        the field, its dates, and what the signs in it mean. With one value a sentence instead.

    Raises:
        ValueError: Too many marks, not in order of their dates, or no room to draw in.
    """
    if len(marks) > MOST_POINTS:
        raise ValueError(f"{len(marks)} marks; a chart holds {MOST_POINTS}")
    if any(later.on < earlier.on for earlier, later in pairwise(marks)):
        raise ValueError("the marks are not in order of their dates")
    if width < LEAST_WIDTH or height < LEAST_HEIGHT:
        raise ValueError(f"no room: a chart needs {LEAST_WIDTH} columns and {LEAST_HEIGHT} rows")
    shown = [mark for mark in marks if mark.value is not None]
    if len(shown) < 2:
        return [ONE_VISIT if shown else NO_VALUE]
    return _Chart(shown, figure, width, height, _PLAIN if ascii else _FINE).lines()


class _Chart:
    def __init__(
        self, marks: Sequence[Mark], figure: Figure, width: int, height: int, glyphs: _Glyphs
    ) -> None:
        self._marks = marks
        self._values = [mark.value or 0.0 for mark in marks]
        self._figure = figure
        self._width = width
        self._glyphs = glyphs
        line = None if figure.line is None else figure.line[1]
        self._scale = Scale.of(self._values, line, figure.error, height)
        self._top, self._bottom = self._scale.at(0), self._scale.at(height - 1)
        if self._scale.row(0.0) == height - 1:
            self._bottom = 0.0
        self._margin = max(len(self._number(end)) for end in (self._top, self._bottom))
        self._room = width - self._margin - 2
        self._columns = columns_of([mark.on for mark in marks], self._room)
        self._field = [[" "] * self._room for _ in range(height)]
        self._untold = 0

    def lines(self) -> list[str]:
        """The whole chart."""
        self._draw_background()
        rows = [self._scale.row(value) for value in self._values]
        for column, row, mark in zip(self._columns, rows, self._marks, strict=True):
            self._field[row][column] = self._glyphs.apart if mark.apart else self._glyphs.mark
        for index, row in enumerate(rows):
            self._write_value(index, row)
        arrow = self._glyphs.up if self._figure.better == "higher" else self._glyphs.down
        drawn = [f"{arrow} {self._figure.better} is better; {self._figure.unit}"]
        for row, cells in enumerate(self._field):
            drawn.append(f"{self._axis(row):>{self._margin}} {self._glyphs.wall}{''.join(cells)}")
        floor = [self._glyphs.floor] * self._room
        for column in self._columns:
            floor[column] = self._glyphs.tick
        drawn.append(" " * (self._margin + 1) + self._glyphs.corner + "".join(floor))
        drawn.append(" " * (self._margin + 2) + self._dates())
        for words in self._legend():
            first, *rest = wrapped(words, self._width - 2)
            drawn += [first, *(f"  {line}" for line in rest)]
        return [line.rstrip() for line in drawn]

    def _draw_background(self) -> None:
        for row in range(len(self._field)):
            if self._scale.shaded(row):
                self._field[row] = [self._glyphs.shade] * self._room
        if self._figure.line is not None:
            row = self._scale.row(self._figure.line[1])
            # Dashes with the background between them, so that shading is still seen.
            for column in range(0, self._room, 2):
                self._field[row][column] = self._glyphs.line

    def _write_value(self, index: int, row: int) -> None:
        """Write a value above its mark, or where there is room near it."""
        text = self._number(self._values[index])
        if self._marks[index].at_least:
            text = self._glyphs.at_least + text
        column, length = self._columns[index], len(text)
        middle = column - (length - 1) // 2
        over = sorted(range(column - length + 1, column + 1), key=lambda start: abs(start - middle))
        places = [(row - 1, start) for start in over]
        places += [(row + 1, start) for start in over if self._free(row + 2, start, length)]
        places += [(row, column + 1), (row, column - length)]
        for at, start in places:
            if self._free(at, start, length):
                self._field[at][start : start + length] = text
                return
        self._untold += 1

    def _free(self, row: int, start: int, length: int) -> bool:
        """Whether text can stand there without touching another value, or hiding a mark."""
        if not 0 <= row < len(self._field) or start < 0 or start + length > self._room:
            return row == len(self._field)
        empty = {" ", self._glyphs.shade, self._glyphs.line}
        beside = empty | {self._glyphs.mark, self._glyphs.apart}
        here = self._field[row][start : start + length]
        around = self._field[row][max(0, start - 1) : start + length + 1]
        return all(cell in empty for cell in here) and all(cell in beside for cell in around)

    def _axis(self, row: int) -> str:
        if row == 0:
            return self._number(self._top)
        if row == len(self._field) - 1:
            return self._number(self._bottom)
        return ""

    def _dates(self) -> str:
        """First and last date in full; those between where there is room, without the year."""
        cells = [" "] * self._room
        days = [mark.on for mark in self._marks]
        order = [0, len(days) - 1, *range(1, len(days) - 1)]
        for index in order:
            in_full = index in (0, len(days) - 1)
            text = days[index].isoformat() if in_full else f"{days[index]:%m-%d}"
            start = self._columns[index] - len(text) // 2
            start = min(max(start, 0), self._room - len(text))
            around = cells[max(0, start - 1) : start + len(text) + 1]
            if all(cell == " " for cell in around):
                cells[start : start + len(text)] = text
        return "".join(cells)

    def _legend(self) -> list[str]:
        glyphs, figure = self._glyphs, self._figure
        said = []
        if figure.error is not None:
            error = f"{figure.error:.{max(figure.decimals, 1)}f}"
            said.append(
                f"{glyphs.shade * 3} first value {glyphs.plus_minus} {error} {figure.unit}: "
                "within measurement error"
            )
        if figure.line is not None:
            words, limit = figure.line
            shown = self._number(limit)
            exact = shown if float(shown) == limit else f"{limit:g}"
            said.append(f"{glyphs.line} {glyphs.line} cut-off: {words} {exact} {figure.unit}")
        if any(mark.apart for mark in self._marks):
            said.append(f"{glyphs.apart} not comparable with the first value")
        if float(self._number(self._bottom)) > 0:
            said.append(
                f"the axis is cut: it begins at {self._number(self._bottom)} "
                f"{figure.unit}, not at 0"
            )
        if self._untold:
            some = "one value has" if self._untold == 1 else f"{self._untold} values have"
            said.append(f"{some} no room on the chart; the table has all")
        return said

    def _number(self, value: float) -> str:
        shown = f"{value:.{self._figure.decimals}f}"
        return shown.removeprefix("-") if float(shown) == 0 else shown


_NEAR_NOUGHT = 0.25
"""An axis whose lowest value is at most this share of its highest begins at nought."""

_ROUNDING = 1e-9

_GAP = 2
"""Columns that two visits are apart at least, however near their dates."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Rows of a chart, the topmost being 0, which is kept free for the value of the highest mark.

    Slots count upwards. With an error the band takes ``band`` whole slots from slot 0 on, so a
    value is in one of them exactly when it is within the error of the first value. Where the rows
    are too few for that, ``band`` is 0: slot 0 is around the first value, and what is beyond the
    error has left it.

    Attributes:
        height: Rows.
        origin: The lower edge of slot 0, or its middle where ``band`` is 0.
        step: How much one row stands for.
        lowest: The slot of the bottom row.
        first: The first value.
        error: The least change that is one; None where there is none to draw.
        band: How many slots the band takes.
    """

    height: int
    origin: float
    step: float
    lowest: int
    first: float
    error: float | None
    band: int

    @classmethod
    def of(
        cls, values: Sequence[float], line: float | None, error: float | None, height: int
    ) -> Scale:
        """The finest scale on which all values, the line and the band have room."""
        told = [*values, *([] if line is None else [line])]
        first, rows = values[0], height - 1
        # A quantity that is never below nought here needs no room below it.
        floor = 0.0 if min(told) >= 0 else -math.inf
        edges = [] if error is None else [max(first - error, floor), first + error]
        low, high = min(told + edges), max(told + edges)
        if floor == 0 and low <= _NEAR_NOUGHT * high:
            low = 0.0
        wanted = [*told, low]
        if error is None:
            step = (high - low) / (rows - 1) or 1.0
            return cls(height, low, step, 0, first, None, 0)
        for band in range(rows, 0, -1):
            scale = cls(height, first - error, 2 * error / band, 0, first, error, band)
            slots = [*(scale.slot(one) for one in wanted), band - 1]
            if max(slots) - min(slots) < rows:
                return cls(height, scale.origin, scale.step, min(slots), first, error, band)
        step = (high - low) / rows
        while True:
            scale = cls(height, first, step, 0, first, error, 0)
            slots = [scale.slot(one) for one in wanted]
            if max(slots) - min(slots) < rows:
                return cls(height, first, step, min(slots), first, error, 0)
            step *= 1.05

    def slot(self, value: float) -> int:
        """The slot a value stands in."""
        away = (value - self.origin) / self.step
        if self.error is None:
            return math.floor(away + _ROUNDING)
        if self.band:
            # Both edges of the band are beyond it: so large a change is one.
            upwards = value >= self.first
            return math.floor(away + _ROUNDING) if upwards else math.ceil(away - _ROUNDING) - 1
        slot = round(away)
        if slot == 0 and abs(value - self.first) >= self.error - _ROUNDING:
            return 1 if value > self.first else -1
        return slot

    def row(self, value: float) -> int:
        """The row a value stands in."""
        return self.height - 1 - (self.slot(value) - self.lowest)

    def shaded(self, row: int) -> bool:
        """Whether a row is within the error of the first value."""
        slot = self.height - 1 - row + self.lowest
        return self.error is not None and 0 <= slot < max(self.band, 1)

    def at(self, row: int) -> float:
        """What a row stands for."""
        return self.origin + (self.height - 1 - row + self.lowest) * self.step


def columns_of(days: Sequence[date], room: int) -> list[int]:
    """A column for each date, in proportion to the days between them, never two in one.

    Visits of one day are spread over the whole width. A little is left free on either side, for
    the values that stand above the marks.
    """
    left, right = 2, room - 4
    last = len(days) - 1
    span = (days[-1] - days[0]).days
    shares = [(day - days[0]).days / span if span else i / last for i, day in enumerate(days)]
    columns = [left + round(share * (right - left)) for share in shares]
    for index in range(1, len(columns)):
        columns[index] = max(columns[index], columns[index - 1] + _GAP)
    return [min(column, right - _GAP * (last - i)) for i, column in enumerate(columns)]
