"""What the trials of an invented patient show, drawn from the rows of the evidence network.

The person has some of the causes. Each sign, each level of a number and each effect of a cue is
drawn as often as its row has it with those causes; times lie within their level.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import exp
from typing import Any, NamedTuple

from screen_tui.engine.findings import (
    Causes,
    level_shares,
    levels_for,
    limits_of_level,
    produced_by,
)
from screen_tui.engine.network import Shares, changed, unseen
from screen_tui.engine.observe import sides_of
from screen_tui.fields import Side
from screen_tui.practice.case import Direction, Shown, Sighting
from screen_tui.protocol.evidence import Condition, Level
from screen_tui.protocol.knowledge import Sign
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Client

REPETITION_S, SET_S = 3.0, 4.5
"""Seconds of one slow repetition, and of one set of the thigh (common practice, no source)."""

EASED = 3
"""Points of pain that a cue takes away where it eases it."""

BEYOND = 0.35
"""By how much of its limit a number goes beyond the last one."""


class _Seen(NamedTuple):
    """What one trial shows, before it has times."""

    signs: tuple[str, ...]
    levels: Mapping[str, int]
    conditions: Mapping[str, bool]
    pain: int


_RULES_OUT = {
    "no-contraction": "extension-lag",
    "knee-past-foot": "knee-moves-in",
    "pelvis-drops": "hip-hikes",
}
"""Of two signs that are never there together, the one that stays with the one that goes."""


@dataclass(frozen=True)
class Person:
    """Somebody drawn, with the complaint on one side.

    Attributes:
        state: The causes they have, a bit each.
        clear: What is usual with the causes shows more often, and what is not more seldom.
    """

    protocol: ScreenProtocol
    client: Client
    state: int
    side: Side
    clear: bool
    draw: random.Random

    @cached_property
    def causes(self) -> Causes:
        return Causes.of(self.protocol)

    @cached_property
    def looks(self) -> Mapping[str, Sign]:
        return {one.id: one for one in self.protocol.signs if one.from_front or one.from_side}

    def shown(self) -> tuple[Shown, ...]:
        """Every trial they show: each test on each leg, and each cue that changes something."""
        tests = [self.protocol.test(item.test) for item in self.protocol.battery.items]
        return tuple(
            one for spec in tests for side in sides_of(spec) for one in self._trials(spec, side)
        )

    def _trials(self, spec: TestSpec, side: Side | None) -> Iterator[Shown]:
        seen = self._seen(spec, side)
        numbers = self._numbers(spec, seen)
        ways: Sequence[Direction | None] = spec.timer.directions or (None,)
        for way in ways:
            yield self._shown(spec, side, "", seen, numbers, way)
        for cue in spec.cues:
            after = self._with_cue(spec, side, cue.id, seen)
            if after == seen:
                continue
            better = self._numbers(spec, after) if after.levels != seen.levels else numbers
            for way in ways:
                yield self._shown(spec, side, cue.id, after, better, way)

    # -- what is there

    def _seen(self, spec: TestSpec, side: Side | None) -> _Seen:
        client = self.client
        signs, conditions = [], {}
        for row in spec.findings:
            there = self._happens(1 - self._unseen(self.causes.shares(row, client.age, ()), side))
            if row.sign is None:
                conditions[row.words] = there
            elif there and row.sign in self.looks:
                signs.append(row.sign)
        levels = {
            graded.measure: self._level(level_shares(self.causes, graded, client), side)
            for graded in spec.graded
        }
        ruled_out = {_RULES_OUT.get(one) for one in signs}
        signs = [one for one in signs if one not in ruled_out]
        sore = side in (None, self.side) and spec.load != "unloaded"
        return _Seen(tuple(signs), levels, conditions, self.draw.randint(0, 4) if sore else 0)

    def _level(self, shares: Sequence[Shares], side: Side | None) -> int:
        """How many levels a number is beyond; each further one is rarer."""
        chance = self.draw.random()
        return sum(chance < self._clear(1 - self._unseen(one, side)) for one in shares)

    def _with_cue(self, spec: TestSpec, side: Side | None, cue: str, before: _Seen) -> _Seen:
        signs, levels, pain = list(before.signs), dict(before.levels), before.pain
        about, client = self.causes.about(side), self.client
        for row in spec.cue_effects:
            if row.cue != cue:
                continue
            made = produced_by(spec, row)
            shows = None if made is None else self.causes.shares(made, client.age, ())
            effect = self.causes.shares(row, client.age, ())
            table = changed(effect, about, shows, gone=True)
            if not self._happens(exp(table[self._own(side)])):
                continue
            if row.gone is not None:
                signs = [one for one in signs if one != row.gone]
            elif row.effect == "pain-eased":
                pain = max(0, pain - EASED)
            elif spec.graded:
                measure = spec.graded[0].measure
                levels[measure] = (
                    0 if row.effect == "within-cut-off" else max(0, levels[measure] - 1)
                )
        return _Seen(tuple(signs), levels, before.conditions, pain)

    def _happens(self, chance: float) -> bool:
        return self.draw.random() < self._clear(chance)

    def _clear(self, chance: float) -> float:
        if not self.clear:
            return chance
        return chance**2 / (chance**2 + (1 - chance) ** 2)

    def _unseen(self, shares: Shares, side: Side | None) -> float:
        return unseen(shares, self.causes.about(side))[self._own(side)]

    def _own(self, side: Side | None) -> int:
        about = enumerate(self.causes.about(side))
        return sum(1 << place for place, number in about if self.state >> number & 1)

    # -- numbers and times

    def _numbers(self, spec: TestSpec, seen: _Seen) -> dict[str, float]:
        found: dict[str, float] = {}
        for graded in spec.graded:
            levels, measure = levels_for(graded, self.client), spec.measure(graded.measure)
            if not levels:
                continue
            higher = measure.better == "higher"
            limits = [limits_of_level(one, self.client)[0] for one in levels]
            better, worse = (1 + BEYOND, 1 - BEYOND) if higher else (1 - BEYOND, 1 + BEYOND)
            best, worst = limits[0] * better, limits[-1] * worse
            if measure.unit == "deg":
                best = 0.0
            if spec.timer.cap is not None and higher:
                best = spec.timer.cap
            at = seen.levels[measure.id]
            from_, to = [best, *limits][at], [*limits, worst][at]
            if measure.decimals == 0:
                whole = range(int(min(from_, to)), int(max(from_, to)) + 1)
                fitting = [x for x in whole if _level_of(x, limits, levels, higher=higher) == at]
                found[measure.id] = float(self.draw.choice(fitting or whole))
            else:
                found[measure.id] = from_ + (to - from_) * self.draw.uniform(0.2, 0.8)
        return found

    # -- a trial

    def _shown(
        self,
        spec: TestSpec,
        side: Side | None,
        cue: str,
        seen: _Seen,
        numbers: Mapping[str, float],
        way: Direction | None,
    ) -> Shown:
        given = self._kind(spec, seen, numbers, way)
        bare = Shown(test=spec.id, side=side, cue=cue, direction=way, **given)
        ends = spec.timer.window or bare.ends_s
        over = ends or max((*bare.repetitions, 0.0)) or _MEASURED_S
        signs = tuple(
            Sighting(
                sign=sign,
                at_s=self._moments(bare.repetitions, over),
                lasts_s=min(3.0, max(0.8, over / 4)),
                from_front=self.looks[sign].from_front,
                from_side=self.looks[sign].from_side,
            )
            for sign in seen.signs
            if sign in spec.signs
        )
        pain = seen.pain if spec.load != "unloaded" else None
        return bare.model_copy(update={"signs": signs[:9], "pain": pain})

    def _moments(self, repetitions: Sequence[float], over: float) -> tuple[float, ...]:
        """When a sign is there: in the middle of most repetitions, or early in the rest."""
        if not repetitions:
            return (round(self.draw.uniform(0.1, 0.45) * over, 1),)
        begins = (0.0, *repetitions[:-1])
        middles = [a + (b - a) * 0.35 for a, b in zip(begins, repetitions, strict=True)]
        often = [one for one in middles if self.draw.random() < _OFTEN] or middles[:1]
        return tuple(round(one, 2) for one in often)

    def _kind(
        self, spec: TestSpec, seen: _Seen, numbers: Mapping[str, float], way: Direction | None
    ) -> dict[str, Any]:
        timer, draw = spec.timer, self.draw
        if timer.numbers:
            return _read_off(spec, numbers, draw)
        first = next(iter(numbers.values()), None)
        if timer.cap is not None:
            if first is None or first >= timer.cap * 0.95:
                return {"ends_s": timer.cap, "ended": "cap"}
            seconds = round(max(first, 1.0), 1)
            return {"vary_s": 0.4, "ends_s": seconds, "ended": timer.end_reasons[0]}
        if timer.series is not None:
            return _raises(timer.series, first)
        if timer.window is not None:
            count = int(first if first is not None else draw.randint(14, 20))
            each = round((timer.window - 1.0) / (count + 0.2), 2)
            return {"vary_s": 0.1, "pace": _pace(count, each, _slowing(spec, seen))}
        if timer.directions:
            flight = timer.flight or 1
            each = (first or 0.55) * (1.3 if way == "down" and any(seen.conditions.values()) else 1)
            return {"vary_s": 0.05, "pace": _pace(flight, round(each, 2))}
        wanted = timer.wanted(None)
        if wanted is None:
            seconds = first if first is not None else draw.uniform(5.5, 7.5)
            speed = timer.speed(1.0)
            return {"vary_s": 0.2, "ends_s": round(speed / seconds if speed else seconds, 1)}
        return self._repetitions(spec, wanted, first, seen)

    def _repetitions(
        self, spec: TestSpec, wanted: int, first: float | None, seen: _Seen
    ) -> dict[str, Any]:
        timer = spec.timer
        measured = spec.measure(spec.graded[0].measure) if spec.graded else None
        if measured is not None and measured.taken_from == "value" and first is not None:
            return {"vary_s": 0.15, "pace": _pace(wanted, first / wanted, _slowing(spec, seen))}
        each = SET_S if spec.load == "unloaded" else REPETITION_S
        done = wanted if measured is None or first is None else min(wanted, int(first))
        if measured is None and _shows(spec, seen, lambda when: "unable" in when.ended_any):
            done = self.draw.randint(1, wanted - 1)
        if done == wanted:
            return {"vary_s": 0.2, "pace": _pace(wanted, each)}
        reason = "fatigue" if "fatigue" in timer.end_reasons else "unable"
        broken: dict[str, Any] = {"ended": reason, "ends_s": round(done * each + 2.0, 1)}
        return broken | ({"pace": _pace(done, each)} if done else {})


def _shows(spec: TestSpec, seen: _Seen, fits: Callable[[Condition], bool]) -> bool:
    rows = (row for row in spec.findings if row.when is not None and fits(row.when))
    return any(seen.conditions.get(row.words, False) for row in rows)


def _slowing(spec: TestSpec, seen: _Seen) -> float:
    """How many times as long as the mean the last repetition takes."""
    return 1.17 if _shows(spec, seen, lambda when: when.slowing_percent is not None) else 1.0


_MEASURED_S, _OFTEN = 4.0, 0.75


def _level_of(
    value: float, limits: Sequence[float], levels: Sequence[Level], *, higher: bool
) -> int:
    beyond = 0
    for limit, level in zip(limits, levels, strict=True):
        short = limit - value if higher else value - limit
        beyond += short > 0 or (short == 0 and level.inclusive)
    return beyond


def _pace(count: int, each: float, slowing: float = 1.0) -> dict[str, Any]:
    last = each * slowing
    return {"count": count, "first_s": 2 * each - last, "last_s": last}


def _raises(series: tuple[int, float], first: float | None) -> dict[str, Any]:
    wanted, full_s = series
    done = wanted if first is None else min(wanted, int(first))
    if done == wanted:
        return {"holds_s": [full_s] * wanted}
    return {"holds_s": [full_s] * done + [round(full_s * 0.4, 1)], "ended": "fatigue"}


_USUAL: Mapping[str, tuple[int, int]] = {"knee-flexion": (138, 142), "hip-rotation": (32, 40)}
"""What is read off where no level is drawn (from memory)."""


def _read_off(spec: TestSpec, numbers: Mapping[str, float], draw: random.Random) -> dict[str, Any]:
    if any(field.id == "passive_deg" for field in spec.timer.numbers):
        passive = max(0.0, numbers.get("deficit", 0.0))
        return {"passive_deg": passive, "active_deg": passive + max(0.0, numbers.get("lag", 0.0))}
    if spec.id in _USUAL:
        low, high = _USUAL[spec.id]
        return {"value": float(draw.randint(low, high) - numbers.get("deficit", 0.0))}
    return {"value": float(next(iter(numbers.values()), 0.0))}
