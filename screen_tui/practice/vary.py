"""Small differences between two runs of a case: times moved a little, their order kept."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

from screen_tui.engine.conditions import TOGETHER_S

MOST_OF_GAP = 0.45
"""Share of the gap to its neighbour by which a time moves at most, so that none overtakes."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One time of a trial before it is varied.

    Attributes:
        at_s: Seconds since the start.
        least_gap_s: Seconds that must stay between it and its neighbours of the same group.
        group: Moments of one group keep their distance: repetitions, or the first sights of signs.
        fixed: It does not move: a full time, or the start.
    """

    at_s: float
    least_gap_s: float = 0.0
    group: str = ""
    fixed: bool = False


def varied(moments: Sequence[Moment], vary_s: float, seed: str) -> tuple[float, ...]:
    """Move each time by up to ``vary_s`` either way, and by less where neighbours are near.

    The same moments and seed give the same times. What came first still does, and what came at
    the same time stays where it is. Moments of a group that were apart by at least their least
    gap stay so; two signs that counted as seen together still do, and as one after the other, too.

    Args:
        moments: In any order; the result is in the same one.
        vary_s: The bound, in seconds.
        seed: What the differences follow from.
    """
    draw = random.Random(seed)
    # One number for each moment, also for those that stay, so that none depends on the others.
    shares = [draw.uniform(-1.0, 1.0) for _ in moments]
    return tuple(
        moment.at_s + share * _bound(moment, moments, vary_s)
        for moment, share in zip(moments, shares, strict=True)
    )


def _bound(moment: Moment, moments: Sequence[Moment], vary_s: float) -> float:
    """How far a moment may go either way."""
    if moment.fixed:
        return 0.0
    bound = min(vary_s, moment.at_s * MOST_OF_GAP)
    for other in moments:
        if other is moment:
            continue
        gap = abs(other.at_s - moment.at_s)
        bound = min(bound, gap * MOST_OF_GAP)
        if moment.group and other.group == moment.group:
            bound = min(bound, max(gap - moment.least_gap_s, 0.0) * MOST_OF_GAP)
        if moment.group == other.group == SIGNS:
            bound = min(bound, abs(gap - TOGETHER_S) * MOST_OF_GAP)
    return max(bound, 0.0)


SIGNS = "signs"
"""The group of the first sights of signs: the engine reads which came first, and which together."""
