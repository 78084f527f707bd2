"""What to test next: how much each test still open is expected to tell, per minute.

Uncertainty is the entropy of the drivers in question, in bits; what a test is expected to take
away of it is computed over all that the test may show. The drivers in question are those at a
chance of 20 of 100 or more; the others are averaged by their chance.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from itertools import pairwise
from math import exp, log2

from screen_tui.engine.answer import LIKELY, SUPPORTS, Belief
from screen_tui.engine.conditions import Seen
from screen_tui.engine.findings import (
    REPEATS,
    Causes,
    Evidence,
    can_change,
    level_shares,
    produced_by,
)
from screen_tui.engine.network import Shares, Table, changed, narrow, unseen
from screen_tui.engine.observe import sides_of
from screen_tui.engine.results import DriverResult, NextTest
from screen_tui.fields import Side
from screen_tui.protocol.evidence import CueRow, Row
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec

MOST = 3
IN_QUESTION = 0.20
MOST_DRIVERS = 4
MOST_VARIABLES = 6
"""Of a test only the findings that tell most are looked at together; the rest add little."""

REPEATED = REPEATS[1]
"""How much a finding says whose trait was seen before."""

Variable = list[Table]
"""One finding: for each thing it may turn out to be, its probability by the drivers in question."""


def next_tests(
    seen: Seen,
    belief: Belief,
    traits: Collection[tuple[str, Side | None]],
    allowed: Callable[[TestSpec, Side | None], bool],
) -> tuple[NextTest, ...]:
    """The tests and cued repeats that are expected to tell most per minute, best first.

    Args:
        traits: What was already seen to, with the leg: it says less a second time.
        allowed: Whether a test may be offered on that side at all.
    """
    asked = _in_question(belief)
    weights = narrow(belief.states, asked, belief.causes.about(None))
    between = tuple((belief.causes.all[n].driver, belief.causes.all[n].side) for n in asked)
    offers = []
    for spec in seen.protocol.tests:
        for side in sides_of(spec):
            if not allowed(spec, side):
                continue
            for cue, variables in _open(spec, side, belief, asked, seen, traits):
                bits = _expected(weights, variables)
                minutes = spec.minutes_a_side / spec.trials if cue else spec.minutes_a_side
                if bits > 0.005:
                    offers.append(
                        NextTest(spec.id, side, cue, "", minutes, between, bits, bits / minutes)
                    )
    return tuple(sorted(offers, key=lambda offer: -offer.per_minute)[:MOST])


def worth_undoing(
    protocol: ScreenProtocol,
    drivers: Sequence[DriverResult],
    evidence: Sequence[Evidence],
    allowed: Callable[[TestSpec, Side | None], bool],
) -> tuple[NextTest, ...]:
    """The tests to repeat without the cue that worked: what comes back without it was its doing.

    They are those that would make a driver likely which has the chance for it and rests on too
    little. No chance moves by that, so nothing of it is expected in bits.
    """
    worked = {(one.test, one.side, one.what): one for one in evidence if one.cue and one.there}
    offers: dict[tuple[str, Side | None, str], NextTest] = {}
    for driver in drivers:
        if driver.standing != "possible" or driver.chance < LIKELY:
            continue
        for finding in driver.speaks_for:
            cued = worked.get((finding.test, finding.side, finding.what))
            if cued is None or cued.undone or finding.factor <= SUPPORTS:
                continue
            spec = protocol.test(cued.test)
            if allowed(spec, cued.side):
                between = ((driver.driver, driver.side),)
                minutes = spec.minutes_a_side / spec.trials
                offer = NextTest(spec.id, cued.side, "", cued.cue, minutes, between, 0.0, 0.0)
                offers.setdefault((spec.id, cued.side, cued.cue), offer)
    return tuple(offers.values())


def _in_question(belief: Belief) -> list[int]:
    """The causes in question, at least the two likeliest; in rising order of their numbers."""
    ranked = sorted(range(len(belief.chances)), key=lambda n: -belief.chances[n])
    open_ones = [n for n in ranked if belief.chances[n] >= IN_QUESTION]
    return sorted((open_ones if len(open_ones) > 1 else ranked[:2])[:MOST_DRIVERS])


def _open(
    spec: TestSpec,
    side: Side | None,
    belief: Belief,
    asked: Sequence[int],
    seen: Seen,
    traits: Collection[tuple[str, Side | None]],
) -> Iterator[tuple[str, list[Variable]]]:
    """What a test could show, or a repeat of it with each cue; the cue is empty for the test."""
    client = seen.session.client
    reader = _Rows(belief, asked, side, client.age)
    done = seen.done(spec.id, side)
    if done is None:
        variables = []
        for row in spec.findings:
            if row.sign is not None or (row.when is not None and not row.when.ended_any):
                again = _again(row.trait, side, traits)
                variables.append(reader.finding(row, again))
        for graded in spec.graded:
            levels = level_shares(belief.causes, graded, client)
            if levels:
                again = _again(graded.trait, side, traits)
                variables.append(reader.number(levels, again, floor=graded.levels[0].floor))
        yield "", variables
        return
    for cue in spec.cues:
        if done.with_cue(cue.id):
            continue
        variables = [
            reader.cue(row, spec)
            for row in spec.cue_effects
            if row.cue == cue.id and can_change(row, done, seen)
        ]
        if variables:
            yield cue.id, variables


def _again(trait: str, side: Side | None, traits: Collection[tuple[str, Side | None]]) -> bool:
    return (trait, side) in traits or (trait, None) in traits


class _Rows:
    """The rows of a test as variables over the causes in question."""

    def __init__(self, belief: Belief, asked: Sequence[int], side: Side | None, age: int) -> None:
        self.causes: Causes = belief.causes
        self.chances = belief.chances
        self.asked = asked
        self.about = set(belief.causes.about(side))
        self.age = age

    def finding(self, row: Row, again: bool) -> Variable:
        not_seen = self._not_seen(self.causes.shares(row, self.age, ()))
        return self._variable([not_seen, [1 - one for one in not_seen]], again)

    def number(self, levels: Sequence[Shares], again: bool, *, floor: bool) -> Variable:
        worse = [[1.0] * (1 << len(self.asked))]
        worse += [[1 - one for one in self._not_seen(level)] for level in levels]
        worse.append([0.0] * len(worse[0]))
        steps = [
            [max(1e-6, p - q) for p, q in zip(here, beyond, strict=True)]
            for here, beyond in pairwise(worse)
        ]
        if floor:
            # Being past a floor says nothing, so it leaves all as it was.
            mean = sum(steps[0]) / len(steps[0])
            steps[0] = [mean] * len(steps[0])
        return self._variable(steps, again)

    def cue(self, row: CueRow, spec: TestSpec) -> Variable:
        effect = self._only_asked(self.causes.shares(row, self.age, ()))
        shown_by = produced_by(spec, row)
        shows = self._only_asked(self.causes.shares(shown_by, self.age, ())) if shown_by else None
        gone = [exp(one) for one in changed(effect, range(len(self.asked)), shows, gone=True)]
        return [gone, [1 - one for one in gone]]

    def _only_asked(self, shares: Shares) -> Shares:
        return Shares(
            shares.leak,
            {
                place: shares.alone[n]
                for place, n in enumerate(self.asked)
                if n in shares.alone and n in self.about
            },
        )

    def _not_seen(self, shares: Shares) -> Table:
        """The chance of its not being seen, with the causes not in question at their chance."""
        passed = 1.0
        for n, alone in shares.alone.items():
            if n in self.about and n not in self.asked:
                fails = min(1.0, (1 - alone) / (1 - shares.leak))
                passed *= 1 - self.chances[n] * (1 - fails)
        table = unseen(self._only_asked(shares), range(len(self.asked)))
        return [one * passed for one in table]

    def _variable(self, outcomes: Variable, again: bool) -> Variable:
        if not again:
            return outcomes
        means = [sum(one) / len(one) for one in outcomes]
        return [
            [REPEATED * chance + (1 - REPEATED) * mean for chance in one]
            for one, mean in zip(outcomes, means, strict=True)
        ]


def _expected(weights: Sequence[float], variables: Iterable[Variable]) -> float:
    """The expected fall in entropy over all that the findings together may show, in bits."""
    ranked = sorted(variables, key=lambda one: -_told(weights, [one]))[:MOST_VARIABLES]
    return _told(weights, ranked)


def _told(weights: Sequence[float], variables: Sequence[Variable]) -> float:
    branches = [list(weights)]
    for variable in variables:
        branches = [
            [weight * chance for weight, chance in zip(branch, outcome, strict=True)]
            for branch in branches
            for outcome in variable
        ]
    return _entropy(weights) - sum(_entropy(branch) for branch in branches)


def _entropy(weights: Sequence[float]) -> float:
    """The entropy of weights that sum to the chance of their branch, times that chance."""
    whole = sum(weights)
    return sum(-one * log2(one / whole) for one in weights if one > 0) if whole else 0.0
