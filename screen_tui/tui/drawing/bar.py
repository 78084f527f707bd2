"""A result on one row: where the value and its line lie on a scale, in plain characters.

    0 ......=|=--O------ 20

Nothing but the characters carries meaning, so that it reads the same without any colour.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

LEGEND = (
    "O value, | cut-off, X value on the cut-off, = within the measurement error of it, "
    "- better, . worse"
)
"""What the characters of a bar mean."""

LEAST_CELLS = 9
"""Fewer cells than these tell nothing."""

_VALUE, _LINE, _BOTH, _NEAR, _GOOD, _SHORT, _UNJUDGED = "O|X=-._"
_STEPS = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
_ROOM = 1.25
"""How far beyond its line a scale without a natural end goes, so that both sides are seen."""


@dataclass(frozen=True, slots=True)
class Scale:
    """The two ends of a bar, in the unit of the value; ``high`` is above ``low``."""

    low: float
    high: float


def scale_for(
    values: Sequence[float],
    limit: float | None,
    near_within: float | None = None,
    most: float | None = None,
) -> Scale:
    """A scale on which the values, the line and the error around it lie.

    It begins at 0, or below where a value or the line is below 0, as angles may be. It ends at the
    most there can be, where that is known, or else at a round number.

    Args:
        values: What is to be drawn on it, such as the left and the right side.
        limit: The line; None where nothing judges.
        near_within: The measurement error around the line; None where none is known.
        most: The most the number can be, such as the cap of a hold.
    """
    lines = [] if limit is None else [limit]
    low = min(0.0, *values, *lines)
    reach = max([low, *values, *lines])
    if most is not None and most >= reach and most > low:
        return Scale(_rounded_down(low), most)
    if limit is not None:
        reach = max(reach, limit + (near_within or 0.0), limit * _ROOM)
    high = _rounded_up(reach)
    return Scale(_rounded_down(low), high if high > low else low + 1)


def _rounded_up(amount: float) -> float:
    """The next number of one or two digits that is easy to read: 45 gives 50."""
    if amount <= 0:
        return 0.0
    power = 10.0 ** math.floor(math.log10(amount))
    step = next((step for step in _STEPS if step * power >= amount * (1 - 1e-9)), _STEPS[-1])
    return step * power


def _rounded_down(amount: float) -> float:
    return -_rounded_up(-amount) if amount < 0 else 0.0


def end_labels(scale: Scale) -> tuple[str, str]:
    """What stands before and after the cells of a bar."""
    return f"{scale.low:g} ", f" {scale.high:g}"


def draw_bar(
    value: float,
    limit: float | None,
    near_within: float | None,
    better: Literal["higher", "lower"],
    scale: Scale,
    width: int,
) -> str:
    """Draw a value on its scale, with the line and the measurement error around it.

    Places are true to half a cell, but for this: what lies apart is drawn apart. A value short of
    its line is never drawn on it or beyond, and the mark of the value is within that of the error
    when, and only when, the value is within the error.

    Args:
        value: The value.
        limit: The line; None where nothing judges, and then only the value is marked.
        near_within: A value nearer to the line than this is near it; None for no such band.
        better: Which side of the line is good.
        scale: The ends; what lies beyond is drawn at the end.
        width: Columns for the bar and the numbers at its ends.

    Returns:
        The bar, exactly ``width`` long; empty where there is no room for `LEAST_CELLS`.
    """
    before, after = end_labels(scale)
    cells = width - len(before) - len(after)
    if cells < LEAST_CELLS:
        return ""
    if limit is None:
        track = [_UNJUDGED] * cells
        track[_cell(value, scale, cells)] = _VALUE
    else:
        track = _judged(value, limit, near_within, better, scale, cells)
    return "".join((before, *track, after))


def _judged(
    value: float,
    limit: float,
    near_within: float | None,
    better: Literal["higher", "lower"],
    scale: Scale,
    cells: int,
) -> list[str]:
    line, first, last = _band(limit, near_within, scale, cells)
    near = near_within is not None and abs(value - limit) < near_within
    if value == limit:
        zone = (line, line)
    elif value < limit:
        zone = (first, line - 1) if near else (0, first - 1)
    else:
        zone = (line + 1, last) if near else (last + 1, cells - 1)
    place = min(max(_cell(value, scale, cells), zone[0]), zone[1])
    below, above = (_SHORT, _GOOD) if better == "higher" else (_GOOD, _SHORT)
    track = [below] * line + [_LINE] + [above] * (cells - line - 1)
    for at in (*range(first, line), *range(line + 1, last + 1)):
        track[at] = _NEAR
    track[min(max(place, 0), cells - 1)] = _BOTH if value == limit else _VALUE
    return track


def _band(
    limit: float, near_within: float | None, scale: Scale, cells: int
) -> tuple[int, int, int]:
    """The cells of the line, and of the first and the last of the band around it.

    On either side of the line there is a cell for the band and one for what is beyond it, as far
    as the scale goes there.
    """
    reach = near_within or 0.0
    below = (limit > scale.low) + (limit - reach >= scale.low and reach > 0)
    above = (limit < scale.high) + (limit + reach <= scale.high and reach > 0)
    line = min(max(_cell(limit, scale, cells), below), cells - 1 - above)
    if not reach:
        return line, line, line
    first = _cell(limit - reach, scale, cells)
    last = _cell(limit + reach, scale, cells)
    return (
        line,
        max(min(first, line - 1), below - 1, 0) if below else line,
        min(max(last, line + 1), cells - above, cells - 1) if above else line,
    )


def _cell(at: float, scale: Scale, cells: int) -> int:
    share = (at - scale.low) / (scale.high - scale.low)
    return min(max(math.floor(share * (cells - 1) + 0.5), 0), cells - 1)
