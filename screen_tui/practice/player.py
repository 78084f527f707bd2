"""One trial as it happens this time, and what there is to see and hear at a moment of it.

Pure: the time comes in, in seconds since the start. Before 0 the patient gets ready.
"""

from __future__ import annotations

import math
import random
from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, chain, islice, zip_longest
from math import cos, pi, sin
from operator import attrgetter
from typing import NamedTuple

from screen_tui.practice.case import Shown, Told
from screen_tui.practice.figure import (
    FLOOR,
    HIP,
    WIDTH,
    Front,
    Leg,
    Point,
    Profile,
    draw_front,
    draw_side,
    hip_over,
    seen_from_front,
    seen_from_side,
)
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


@dataclass(frozen=True, slots=True)
class Sight:
    """One moment of a sign."""

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
        movement=spec.movement or timer.movement,
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


QUICK_S = 0.3
"""Seconds a foot takes off the floor or back to it."""

HALT_S = 2.0
"""Seconds for which the picture is still when the time of a count is up."""

STRIDE_S = 1.1
"""Seconds of two steps in walking at usual speed (common practice, no source)."""

_ANKLE = Point(8.0, FLOOR)
_CHAIR = 7.5


class Posture(NamedTuple):
    """The body at one moment; a view in which nothing is to be seen is None."""

    front: Front | None
    side: Profile


def height_risen(timeline: Timeline, t: float) -> float:
    """How far somebody has risen from a chair: 0 sitting, 1 standing."""
    upright = timeline.counts_upright
    done = bisect_right(timeline.repetitions, t)
    marks = (0.0, *timeline.repetitions)
    if done == len(timeline.repetitions):
        return _after_last(timeline, marks[-1], t, upright=upright and done > 0)
    begin, end = marks[done], marks[done + 1]
    share = (t - begin) / (end - begin)
    if t < 0:
        return 0.0
    if not upright:
        return _smooth(share / 0.45) if share < 0.5 else 1 - _smooth((share - 0.55) / 0.45)
    if done == 0:
        return _smooth((share - 0.1) / 0.9)
    return 1 - _smooth(share / 0.45) if share < 0.5 else _smooth((share - 0.55) / 0.45)


def _after_last(timeline: Timeline, last: float, t: float, *, upright: bool) -> float:
    if not upright:
        if timeline.broken_off and last < t:
            # The attempt that does not succeed.
            return 0.5 * sin(pi * min((t - last) / max(timeline.over_s - last, 0.1), 1.0))
        return 0.0
    # Where somebody is when the time ends decides about one more, so it stays in the picture.
    on = max(t - timeline.over_s - HALT_S, 0.0)
    share = min((t - last) / max(timeline.over_s - last, 0.1), 1.0)
    if timeline.shown.half_way_up:
        risen = 1 - _smooth(share / 0.4) if share < 0.45 else 0.75 * (share - 0.45) / 0.55
        return min(risen + on, 1.0)
    return max(1 - 0.7 * _smooth(share) - on, 0.0)


def _stance(timeline: Timeline, t: float) -> Posture:
    ended = timeline.shown.ended if t >= timeline.over_s else ""
    up = 1.0 if ended else _smooth((t + QUICK_S) / QUICK_S)
    if ended in ("foot-down", "cap"):
        up = 1 - _smooth((t - timeline.over_s) / QUICK_S)
    front = Front(
        lift=1.2 * up,
        sway=0.25 * sin(1.3 * t) + (1.5 if ended == "stance-foot-moved" else 0.0),
        arms_out=ended in ("arms-left-place", "support-touched"),
        support="rail" if ended == "support-touched" else "",
    )
    side = Profile(hip_over(Point(5.5, FLOOR), Leg()), 1.0, Leg(), Leg(25 * up, -35 * up))
    return Posture(front, side)


def _tandem(timeline: Timeline, t: float) -> Posture:
    over = t >= timeline.over_s and timeline.shown.ended != "cap"
    held = timeline.shown.ended == "support-touched" and over
    front = Front(narrow=not over, sway=0.3 * sin(1.7 * t), support="rail" if held else "")
    hip = Point(5.5, FLOOR - HIP * cos(14 * pi / 180))
    return Posture(front, Profile(hip, 1.0, Leg(14, 14), Leg(-14, -14)))


def rising(h: float) -> Posture:
    """Somebody between sitting (0) and standing (1), arms crossed."""
    near = Leg(thigh=90 * (1 - h), shin=-14 * sin(pi * h))
    side = Profile(hip_over(_ANKLE, near), 45 * sin(pi * h), near, arm=None, chair=_CHAIR)
    return Posture(Front(low=1.75 * (1 - h)), side)


def _squat(timeline: Timeline, t: float) -> Posture:
    deep = sin(pi * _share_of_repetition(timeline.repetitions, t))
    front, side = rising(1 - deep)
    return Posture(front, replace(side, chair=None))


def _lunge(timeline: Timeline, t: float) -> Posture:
    """The knee goes forward to the wall, the heel stays down."""
    deep = _smooth(t / max(timeline.over_s / 2, 0.1))
    near = Leg(thigh=38 * deep, shin=-34 * deep)
    hip = hip_over(Point(6.0, FLOOR), near)
    side = Profile(hip, 6.0 * deep, near, Leg(-20 * deep, -24 * deep), posts=(10.5,))
    return Posture(Front(low=0.6 * deep), side)


def _heel_raise(timeline: Timeline, t: float) -> Posture:
    up = 0 <= t < timeline.over_s and sin(pi * t) > 0
    near = Leg(heel_up=up)
    hip = hip_over(Point(5.5, FLOOR), near)
    return Posture(Front(lift=1.2, low=-0.3 * up), Profile(hip, 1.0, near, Leg(25, -35)))


def _step_down(timeline: Timeline, t: float) -> Posture:
    share = _share_of_repetition(timeline.repetitions, t)
    deep = sin(pi * share)
    near = Leg(thigh=42 * deep, shin=-30 * deep)
    hip = hip_over(Point(6.0, FLOOR), near)
    far = Leg(thigh=20 + 10 * deep, shin=5)
    front = Front(lift=1.0 * (1 - deep) + 0.2, low=1.2 * deep, step=True)
    return Posture(front, Profile(hip, 12 * deep, near, far))


def _stairs(timeline: Timeline, t: float) -> Posture:
    share = _share_of_repetition(timeline.repetitions, t)
    moving = 0 <= t < timeline.over_s
    swing = sin(pi * share) if moving else 0.0
    if timeline.shown.direction == "down":
        near, far = Leg(25 * swing, 0.0), Leg(15 * swing, -30 * swing)
        hip = Point(5.0, FLOOR - HIP - 0.5 * (1 - share if moving else 0.0))
    else:
        near, far = Leg(68 * swing, 0.0), Leg(-8 * swing, -14 * swing)
        hip = Point(4.5, FLOOR - HIP - 0.3 * share)
    way = timeline.shown.direction or "up"
    side = Profile(hip, 8.0, near, far, arm=20 * swing, stair=way)
    return Posture(Front(lift=0.9 * swing, low=0.2 * swing), side)


def walking(x: float, t: float, posts: Sequence[float] = ()) -> Posture:
    """Somebody walking to the right, the hip in column x."""
    swing = sin(2 * pi * t / STRIDE_S)
    # The leg in front lands straight; the one behind bends as it comes through.
    one = Leg(24 * swing, 24 * swing if swing > 0 else 24 * swing - 18)
    two = Leg(-24 * swing, -24 * swing if swing < 0 else -24 * swing - 18)
    hip = Point(x, FLOOR - HIP * cos(0.42 * abs(swing)))
    side = Profile(hip, 3.0, one, two, arm=-22 * swing, posts=tuple(posts))
    front = Front(lift=max(0.0, 0.7 * cos(2 * pi * t / STRIDE_S)), sway=0.4 * swing)
    return Posture(front, side)


def _up_and_go(timeline: Timeline, t: float) -> Posture:
    share = min(max(t, 0.0) / max(timeline.over_s, 0.1), 1.0)
    if share < 0.14:
        return rising(_smooth(share / 0.14))
    if share > 0.88:
        return rising(1 - _smooth((share - 0.88) / 0.12))
    if share <= 0.51:
        return walking(2.5 + 6.0 * min((share - 0.14) / 0.37, 1.0), t, posts=(10.0,))
    front, side = walking(2.5 + 6.0 * min((0.88 - share) / 0.37, 1.0), t)
    # Turned round, the picture runs from the other edge.
    hip = Point(12.0 - side.hip.x, side.hip.y)
    return Posture(front, replace(side, hip=hip, posts=(1.0,), faces_left=True))


def _floor(timeline: Timeline, t: float) -> Posture:
    share = min(max(t, 0.0) / max(timeline.over_s, 0.1), 1.0)
    if timeline.broken_off:
        share *= 0.55
    at = sum(share >= end for end in (0.15, 0.4, 0.75))
    low, side = (
        (2.6, Profile(Point(5.3, 7.4), -88.0, Leg(88, 88), arm=None, scale=0.8)),
        (2.6, Profile(Point(4.0, 6.9), 10.0, Leg(75, 60), arm=-30.0)),
        (1.75, Profile(Point(4.5, 5.3), 35.0, Leg(80, 0), Leg(-10, -80), arm=30.0)),
        (0.0, Profile(Point(5.5, FLOOR - HIP), 2.0, Leg())),
    )[at]
    return Posture(Front(low=low), side)


def _leg_raise(timeline: Timeline, t: float) -> Posture:
    up = 0.0
    for begin, let_go in timeline.holds:
        up = max(up, min(_smooth((t - begin) / QUICK_S + 1), _smooth((let_go - t) / QUICK_S + 1)))
    angle = 86 + 26 * up
    return Posture(None, replace(lying(Leg(angle, angle)), bulge=up > 0.5))


def lying(near: Leg) -> Profile:
    """Somebody lying on the back, the head at the left."""
    return Profile(Point(5.3, 6.6), -88.0, near, arm=None, scale=0.8)


def _thigh_set(timeline: Timeline, t: float) -> Posture:
    tight = any(at - 2.0 <= t < at for at in timeline.repetitions)
    return Posture(None, replace(lying(Leg(88, 88)), bulge=tight))


def _extension(timeline: Timeline, t: float) -> Posture:
    numbers = timeline.shown.numbers
    active = t >= timeline.over_s / 2 and "active_deg" in numbers
    name = "active_deg" if active else "passive_deg"
    bend = numbers.get(name, numbers.get("value", 0.0) / 2)
    # Drawn twice as bent as it is, so that few degrees can be seen at all.
    return Posture(None, replace(lying(Leg(92 + bend, 92 - bend)), bulge=active))


_POSTURES: Mapping[Movement, Callable[[Timeline, float], Posture]] = {
    "stance": _stance,
    "tandem": _tandem,
    "chair": lambda timeline, t: rising(height_risen(timeline, t)),
    "step-down": _step_down,
    "stairs": _stairs,
    "walk": lambda timeline, t: walking(
        9.0 * t / max(timeline.over_s, 0.1) - 0.6, t, posts=(1.0, 10.0)
    ),
    "up-and-go": _up_and_go,
    "floor": _floor,
    "leg-raise": _leg_raise,
    "thigh-set": _thigh_set,
    "extension": _extension,
    "sitting": lambda _timeline, _t: rising(0.0),
    "lunge": _lunge,
    "heel-raise": _heel_raise,
    "squat": _squat,
}


def _share_of_repetition(repetitions: Sequence[float], t: float) -> float:
    """How far the present repetition is, from 0 to 1; 0 before the first and after the last."""
    marks = (0.0, *repetitions)
    done = bisect_right(marks, t)
    if t < 0 or done >= len(marks):
        return 0.0
    return (t - marks[done - 1]) / (marks[done] - marks[done - 1])


def _smooth(share: float) -> float:
    """From 0 to 1 without a jerk."""
    within = min(max(share, 0.0), 1.0)
    return within * within * (3 - 2 * within)


RISES_S, FADES_S = 0.3, 0.5
"""Seconds before its time in which a sign appears, and after it in which it goes again.

In its time, when it is put in words, it shows in full.
"""

WORDS_S = 4.0
"""Seconds words of the patient can be read."""


@dataclass(frozen=True, slots=True)
class Frame:
    """A simulated patient at one moment.

    Attributes:
        front: At most 8 lines of 12 ASCII characters; none where nothing is to be seen from there.
        seen_from_front: What can be seen just now, newest first, in plain words.
        happens: What happens at the start and at the end; "" in between.
        reading: What a measuring tool shows: (id of the field, number).
        pain: What the patient answers when asked for the pain, once the trial is over; else "".
    """

    t: float
    front: tuple[str, ...]
    side: tuple[str, ...]
    seen_from_front: tuple[str, ...]
    seen_from_side: tuple[str, ...]
    heard: tuple[str, ...]
    happens: str
    reading: tuple[tuple[str, float], ...]
    pain: str
    over: bool

    @property
    def both(self) -> tuple[str, ...]:
        """Both pictures side by side, 8 lines of at most 24 characters; front view at the left."""
        lines = zip_longest(self.front, self.side, fillvalue="")
        return tuple((front.ljust(WIDTH) + side).rstrip() for front, side in lines)


def at(timeline: Timeline, t: float) -> Frame:
    """What there is to see and hear, t seconds after the start, also below 0 and after the end."""
    active = [(one, strength) for one in timeline.sights if (strength := _strength(one, t)) > 0]
    front, side = _POSTURES[timeline.movement](timeline, t)
    for sight, strength in active:
        if front is not None and sight.from_front:
            front = seen_from_front(sight.sign, front, strength, t)
        if sight.from_side:
            side = seen_from_side(sight.sign, side, strength, t)
    shown = (sight for sight, strength in active if strength == 1.0)
    newest = sorted(shown, key=lambda sight: -sight.at_s)
    pain = f"{timeline.shown.pain} of 10" if timeline.shown.pain else "none"
    return Frame(
        t=t,
        front=() if front is None else draw_front(front, mirrored=timeline.shown.side == "right"),
        side=draw_side(side),
        seen_from_front=_once(sight.from_front for sight in newest),
        seen_from_side=_once(sight.from_side for sight in newest),
        heard=tuple(w.says for w in timeline.words if w.at_s <= t < w.at_s + WORDS_S),
        happens=_happens(timeline, t),
        reading=_reading(timeline, t),
        pain=pain if t >= timeline.over_s else "",
        over=t >= timeline.over_s,
    )


def _strength(sight: Sight, t: float) -> float:
    """How strongly a sign shows, from 0 to 1: it comes quickly, stays its time and fades."""
    rising = (t - sight.at_s) / RISES_S + 1.0
    fading = (t - sight.at_s - sight.lasts_s) / FADES_S
    return max(0.0, min(rising, 1.0, 1.0 - fading))


def _once(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for text in texts if text))


_STARTS = {
    "stance": ("Gets ready, both feet down.", "The foot leaves the floor."),
    "tandem": ("Gets into place, a hand held.", "The hand is let go."),
    "walk": ("Walks up to the first mark.", "The toes cross the first mark."),
}

_ENDS = {
    "foot-down": "The foot is down.",
    "arms-left-place": "The arms leave their place.",
    "stance-foot-moved": "The standing foot moves.",
    "support-touched": "A hand takes hold.",
    "cap": "Still stands when the time is up.",
    "unable": "Stops: cannot continue.",
    "fatigue": "Stops, tired.",
    "breathless": "Stops, out of breath.",
    "fear": "Stops: does not dare to continue.",
    "pain": "Stops: it hurts.",
    "unsafe": "Is caught: that was not safe.",
    "asked-to-stop": "Asks to stop.",
}

_COMPLETE = {
    "walk": "The toes cross the last mark.",
    "up-and-go": "Sits again.",
    "floor": "Stands still, upright.",
    "stairs": "Both feet stand at the end of the flight.",
}

_SHOWN_S = 1.5
"""Seconds for which it is shown what happened at the start."""


def _happens(timeline: Timeline, t: float) -> str:
    before, starts = _STARTS.get(timeline.movement, ("Ready; waits for the word.", ""))
    if t < 0:
        return before
    if t >= timeline.over_s:
        if timeline.shown.ended:
            return _ENDS.get(timeline.shown.ended, timeline.shown.ended)
        return _COMPLETE.get(timeline.movement, "Done.")
    return starts if t < _SHOWN_S else ""


def _reading(timeline: Timeline, t: float) -> tuple[tuple[str, float], ...]:
    """What the tool shows: the first number, and from half of the time on the others too."""
    numbers = tuple(timeline.shown.numbers.items())
    if t < 0:
        return ()
    return numbers if t >= timeline.over_s / 2 else numbers[:1]
