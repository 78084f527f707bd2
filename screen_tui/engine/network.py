"""Exact inference: from how often findings are seen with each cause to the chance of each cause.

The causes are yes/no variables; several can be true. A state is a whole number whose bit ``i`` says
whether cause ``i`` is there. A table holds one log-likelihood for each state, so that the order of
findings does not matter and one can be taken away again by subtracting its table.

Several causes of one finding combine as noisy-OR (Pearl 1988, Probabilistic Reasoning in
Intelligent Systems, chapter 4; from memory): each present cause may fail to show the finding.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from math import exp, log
from operator import add, sub

Table = list[float]
"""One number for each state."""

TableOver = tuple[tuple[int, ...], Table]
"""Some of the causes, in rising order, and a table over their combinations."""

LEAST = 1e-3
"""No finding is so unlikely that it settles a case alone (judgement)."""


@dataclass(frozen=True, slots=True)
class Shares:
    """How often something is seen, as shares of 1: without any cause, and with each alone."""

    leak: float
    alone: Mapping[int, float]


def unseen(shares: Shares, causes: Sequence[int]) -> Table:
    """For each combination of those causes, in how many of 1 the finding is not seen (noisy-OR)."""
    table = [1 - shares.leak]
    for cause in causes:
        passed = min(1.0, (1 - shares.alone.get(cause, shares.leak)) / (1 - shares.leak))
        table += [chance * passed for chance in table] if passed < 1 else table
    return table


def found(shares: Shares, causes: Sequence[int]) -> Table:
    """The log-likelihood of having seen it, over the combinations of those causes."""
    most = 1 - LEAST
    return [log(1 - chance if chance < most else LEAST) for chance in unseen(shares, causes)]


def not_found(shares: Shares, causes: Sequence[int]) -> Table:
    """The log-likelihood of its not having been there, with none of the causes, with each alone.

    Each cause fails by itself, so that those of several causes follow (`added_up`).
    """
    leak = log(1 - shares.leak)
    return [leak, *(min(leak, log(1 - shares.alone.get(one, shares.leak))) for one in causes)]


def added_up(alone: Sequence[float]) -> Table:
    """A table in which each cause adds its own, from that with none and with each cause alone."""
    table = [alone[0]]
    for one in alone[1:]:
        more = one - alone[0]
        table += [before + more for before in table]
    return table


def singly(table: Sequence[float]) -> Table:
    """Of a table what it says with none of the causes, and with each alone."""
    return [table[0], *(table[1 << place] for place in range(len(table).bit_length() - 1))]


def at_level(levels: Sequence[Shares], reached: int, causes: Sequence[int]) -> Table:
    """The likelihood of a number at one of its levels (noisy-MAX on cumulative rows).

    ``levels`` say how often a number is so poor or poorer, mildest first; ``reached`` is counted
    from 1, and 0 is better than all.
    """
    every = 1 << len(causes)
    before = unseen(levels[reached - 1], causes) if reached else [0.0] * every
    beyond = unseen(levels[reached], causes) if reached < len(levels) else [1.0] * every
    return [share if share > LEAST else LEAST for share in map(sub, beyond, before)]


def changed(effect: Shares, causes: Sequence[int], shows: Shares | None, *, gone: bool) -> Table:
    """The log-likelihood that a cue did, or did not do, what it can do to something seen.

    ``effect`` is how often it does so where one cause alone is behind what was seen, and ``shows``
    how often the causes produce what it is to change. With several causes present it is the
    geometric mean, weighted by how much each produces; without a row for that, each weighs the
    same.
    """
    base, each = _producing(shows, causes)
    weights, sums = [base], [base * log(effect.leak)]
    for cause, weight in zip(causes, each, strict=True):
        share = weight * log(effect.alone.get(cause, effect.leak))
        weights += [one + weight for one in weights]
        sums += [one + share for one in sums]
    chances = [
        exp(total / weight) if weight else effect.leak
        for total, weight in zip(sums, weights, strict=True)
    ]
    return [log(max(LEAST, chance if gone else 1 - chance)) for chance in chances]


def _producing(shows: Shares | None, causes: Sequence[int]) -> tuple[float, list[float]]:
    """By how much the leak and each cause produce what was seen."""
    if shows is None:
        return 0.0, [1.0] * len(causes)
    leak = -log(1 - shows.leak)
    return leak, [
        max(0.0, -log((1 - shows.alone.get(cause, shows.leak)) / (1 - shows.leak)))
        for cause in causes
    ]


def spread(table: Sequence[float], causes: Sequence[int], over: Sequence[int]) -> Table:
    """A table over some causes, repeated for all combinations of more; both in rising order."""
    wide = list(table)
    if len(causes) == len(over):
        return wide
    for place, cause in enumerate(over):
        if cause not in causes:
            block = 1 << place
            blocks = (wide[at : at + block] for at in range(0, len(wide), block))
            twice = zip(wide, wide, strict=True) if place == 0 else (one * 2 for one in blocks)
            wide = list(chain.from_iterable(twice))
    return wide


def joined(tables: Iterable[TableOver]) -> TableOver:
    """Tables over different causes added up, over all those causes."""
    causes: tuple[int, ...] = ()
    table: Table = [0.0]
    for about, more in sorted(tables, key=lambda one: len(one[1])):
        both = tuple(sorted({*causes, *about}))
        table = list(map(add, spread(table, causes, both), spread(more, about, both)))
        causes = both
    return causes, table


def narrow(states: Sequence[float], causes: Sequence[int], over: Sequence[int]) -> Table:
    """The probability of each combination of some of the causes ``over``, in rising order."""
    rest = list(states)
    for place, cause in reversed([*enumerate(over)]):
        if cause not in causes:
            block = 1 << place
            starts = range(0, len(rest), 2 * block)
            rest = list(
                chain.from_iterable(
                    map(add, rest[at : at + block], rest[at + block : at + 2 * block])
                    for at in starts
                )
            )
    return rest


def prior_table(chances: Sequence[float]) -> Table:
    """The log of the prior of each state; the causes are independent before anything was seen."""
    table = [0.0]
    for chance in chances:
        there, not_there = log(chance), log(1 - chance)
        table = [*(one + not_there for one in table), *(one + there for one in table)]
    return table


def total(tables: Sequence[Sequence[float]]) -> Table:
    """The sum of tables, state by state."""
    added: Iterable[float] = tables[0]
    for table in tables[1:]:
        added = map(add, added, table)
    return list(added)


def posterior(table: Sequence[float]) -> Table:
    """The probability of each state."""
    most = max(table)
    parts = [exp(one - most) for one in table]
    whole = sum(parts)
    return [part / whole for part in parts]


def chances(states: Sequence[float]) -> list[float]:
    """The chance of each cause, from the probability (or weight) of each state."""
    whole = sum(states)
    found: list[float] = []
    rest = list(states)
    while len(rest) > 1:
        half = len(rest) // 2
        found.append(sum(rest[half:]) / whole)
        rest = list(map(add, rest[:half], rest[half:]))
    return found[::-1]
