"""One trial as it happens this time: all its moments, in seconds since the start."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, chain, islice
from operator import attrgetter

from screen_tui.practice.case import Shown, Told
from screen_tui.protocol.tests import TestSpec
from screen_tui.timing.spec import Movement

TOGETHER_S = 1.0
"""Seconds within which two signs count as seen together, not one after the other.

Whoever watches two things must see the second, find its key and press it (clinical judgement).
"""

MOST_OF_GAP = 0.45
"""Share of the gap to its neighbour by which a time moves at most, so that none overtakes."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One time of a trial before it is varied.

    Attributes:
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
    """
    draw = random.Random(seed)
    # One number for each moment, also for those that stay, so that none depends on the others.
    shares = [draw.uniform(-1.0, 1.0) for _ in moments]
    return tuple(
        moment.at_s + share * _bound(moment, moments, vary_s)
        for moment, share in zip(moments, shares, strict=True)
    )


def _bound(moment: Moment, moments: Sequence[Moment], vary_s: float) -> float:
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
"""The group of the first sights of signs: which came first, and which together, stays."""


LEAD_IN_S = 3.0
"""Seconds before a hold or a walk in which the patient gets ready; it varies by `LEAD_IN_VARY_S`.

The clock of these tests is started by what the patient does, not by the word go.
"""

LEAD_IN_VARY_S = 1.0

MEASURING_S = 6.0
"""Seconds a measurement is watched, where the case does not say."""

ALMOST_S = 1e-6
"""Seconds that adding binary fractions may take away from a full time."""


_BY_TEST: Mapping[str, Movement] = {
    "tandem-stance": "tandem",
    "timed-up-and-go": "up-and-go",
    "squat": "squat",
    "knee-to-wall": "lunge",
    "heel-raise": "heel-raise",
    "hip-rotation": "sitting",
}


def movement_of(spec: TestSpec) -> Movement:
    """How the body moves in a test; a test nobody here knows moves like others of its kind."""
    if spec.id in _BY_TEST:
        return _BY_TEST[spec.id]
    movement = spec.timer.movement
    return "thigh-set" if (movement, spec.load) == ("step-down", "unloaded") else movement


@dataclass(frozen=True, slots=True)
class Sight:
    """One moment of a sign: when it shows, how long, and how it looks from either place."""

    sign: str
    at_s: float
    lasts_s: float
    from_front: str
    from_side: str


@dataclass(frozen=True)
class Timeline:
    """One trial of one simulated patient.

    Attributes:
        shown: What the case says of it; the times here are those of this run.
        counts_upright: A repetition is complete in standing, not back on the seat.
        lead_in_s: Seconds from the beginning of the picture to the start; 0 where the word go
            starts the trial.
        broken_off: It ended before what the test measures was complete.
        holds: (begin, end) of each hold of a series.
    """

    shown: Shown
    movement: Movement
    counts_upright: bool
    lead_in_s: float
    over_s: float
    broken_off: bool
    repetitions: tuple[float, ...] = ()
    holds: tuple[tuple[float, float], ...] = ()
    sights: tuple[Sight, ...] = ()
    words: tuple[Told, ...] = ()

    @property
    def first_seen(self) -> dict[str, float]:
        """The signs of the trial with the time at which each is first seen, earliest first."""
        first: dict[str, float] = {}
        for sight in self.sights:
            first.setdefault(sight.sign, sight.at_s)
        return first


def length_of(one: Shown, spec: TestSpec) -> float:
    """Seconds from the start to the end of the trial, before it is varied."""
    if one.ends_s is not None:
        return one.ends_s
    if spec.timer.window is not None:
        return spec.timer.window
    if spec.timer.series is not None:
        return sum(one.holds_s) + one.rest_s * max(len(one.holds_s) - 1, 0)
    return MEASURING_S if spec.timer.numbers else max(one.repetitions, default=0.0)


def realised(one: Shown, spec: TestSpec, seed: str) -> Timeline:
    """Give a trial of a case as it happens with this seed."""
    timer, holds = spec.timer, _holds(one)
    least, full_s = timer.split_least or 0.0, timer.series[1] if timer.series else math.inf
    if one.ends_s is not None:
        full = timer.cap is not None and one.ends_s >= timer.cap
        ends = [Moment(one.ends_s, fixed=full)]
    elif not one.repetitions or timer.window is not None:
        ends = [Moment(length_of(one, spec), fixed=True)]
    else:
        ends = []
    parts = (
        [Moment(0.0, fixed=True, group="repetitions")],
        ends,
        [Moment(at, least_gap_s=least, group="repetitions") for at in one.repetitions],
        [moment for hold in holds for moment in _hold(*hold, full_s)],
        [Moment(at, group="" if j else SIGNS) for s in one.signs for j, at in enumerate(s.at_s)],
        [Moment(told.at_s) for told in one.told],
    )
    moved = iter(varied([*chain(*parts)], one.vary_s, seed))
    _, ended, repetitions, held, seen, said = [[*islice(moved, len(part))] for part in parts]
    signs = (s for s in one.signs for _ in s.at_s)
    sights = [
        Sight(s.sign, at, s.lasts_s, s.from_front, s.from_side)
        for s, at in zip(signs, seen, strict=True)
    ]
    words = [told.model_copy(update={"at_s": at}) for told, at in zip(one.told, said, strict=True)]
    lead_in = 0.0
    if timer.patient_starts and timer.one_interval:
        (lead_in,) = varied([Moment(LEAD_IN_S)], LEAD_IN_VARY_S, f"{seed} lead-in")
    return Timeline(
        shown=one,
        movement=movement_of(spec),
        counts_upright=timer.counts_upright,
        lead_in_s=lead_in,
        over_s=(held or ended or repetitions)[-1],
        broken_off=bool(one.ended) and not timer.stop_is_an_end,
        repetitions=tuple(repetitions),
        holds=tuple(zip(held[::2], held[1::2], strict=True)),
        sights=tuple(sorted(sights, key=attrgetter("at_s"))),
        words=tuple(sorted(words, key=attrgetter("at_s"))),
    )


def _hold(begin: float, let_go: float, full_s: float) -> tuple[Moment, Moment]:
    full = let_go - begin > full_s - ALMOST_S
    return Moment(begin, fixed=True), Moment(let_go, fixed=full)


def _holds(one: Shown) -> tuple[tuple[float, float], ...]:
    begins = accumulate((hold + one.rest_s for hold in one.holds_s[:-1]), initial=0.0)
    return tuple((begin, begin + hold) for begin, hold in zip(begins, one.holds_s, strict=False))
