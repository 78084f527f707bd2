"""Where a chart puts its values: rows cut at the edges of the error, columns by date."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

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
