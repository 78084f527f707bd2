"""The arithmetic of the network, against counting every way things can come about by hand."""

from __future__ import annotations

from itertools import product
from math import exp, log, prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screen_tui.engine.network import (
    Shares,
    added_up,
    at_level,
    chances,
    changed,
    found,
    not_found,
    posterior,
    prior_table,
    spread,
    total,
)

SHARE = st.floats(0.01, 0.9)
CAUSES = (0, 1, 2)


def present(state: int) -> list[int]:
    return [cause for cause in CAUSES if state >> cause & 1]


def seen_by_hand(leak: float, alone: dict[int, float], state: int) -> float:
    """Every cause, and the leak, shows the finding or fails to, each by itself."""
    own = [(alone[cause] - leak) / (1 - leak) for cause in present(state)]
    return sum(
        prod(p if shows else 1 - p for p, shows in zip([leak, *own], ways, strict=True))
        for ways in product([True, False], repeat=len(own) + 1)
        if any(ways)
    )


@given(SHARE, st.tuples(SHARE, SHARE, SHARE))
def test_a_finding_is_seen_when_any_cause_or_the_leak_shows_it(
    leak: float, more: tuple[float, float, float]
) -> None:
    alone = {cause: leak + (0.99 - leak) * part for cause, part in zip(CAUSES, more, strict=True)}
    shares = Shares(leak, alone)
    for state, (there, not_there) in enumerate(
        zip(found(shares, CAUSES), added_up(not_found(shares, CAUSES)), strict=True)
    ):
        by_hand = seen_by_hand(leak, alone, state)
        assert exp(there) == pytest.approx(by_hand, abs=1e-9)
        assert exp(not_there) == pytest.approx(1 - by_hand, abs=1e-9)


def worst_by_hand(rows: list[Shares], state: int) -> list[float]:
    """The worst of what the leak and each cause bring about, each drawn by itself."""

    def steps(reached: list[float]) -> list[float]:
        return [p - q for p, q in zip([1.0, *reached], [*reached, 0.0], strict=True)]

    def of_cause(cause: int) -> list[float]:
        return steps([1 - (1 - row.alone[cause]) / (1 - row.leak) for row in rows])

    drawn = [steps([row.leak for row in rows]), *(of_cause(cause) for cause in present(state))]
    worst = [0.0] * (len(rows) + 1)
    for levels in product(range(len(rows) + 1), repeat=len(drawn)):
        worst[max(levels)] += prod(part[level] for part, level in zip(drawn, levels, strict=True))
    return worst


def test_a_number_is_the_worst_of_what_its_causes_bring_about() -> None:
    rows = [Shares(0.22, {0: 0.27, 1: 0.65, 2: 0.68}), Shares(0.05, {0: 0.07, 1: 0.32, 2: 0.3})]
    for state in range(8):
        by_hand = worst_by_hand(rows, state)
        levels = [at_level(rows, reached, CAUSES)[state] for reached in range(len(rows) + 1)]
        assert levels == pytest.approx(by_hand)
        assert sum(levels) == pytest.approx(1)


def test_a_cue_does_what_it_does_for_the_cause_that_is_alone() -> None:
    effect = Shares(0.23, {0: 0.19, 1: 0.62, 2: 0.21})
    shows = Shares(0.12, {0: 0.35, 1: 0.45, 2: 0.12})
    for cause, alone in effect.alone.items():
        gone = exp(changed(effect, CAUSES, None, gone=True)[1 << cause])
        assert gone == pytest.approx(alone)
    assert exp(changed(effect, CAUSES, shows, gone=True)[0]) == pytest.approx(0.23)


def test_of_two_causes_the_one_that_shows_the_sign_more_decides_what_a_cue_does() -> None:
    effect = Shares(0.23, {0: 0.19, 1: 0.62})
    shows = Shares(0.12, {0: 0.35, 1: 0.45})
    weights = [-log(1 - 0.12), -log(0.65 / 0.88), -log(0.55 / 0.88)]
    mean = sum(w * log(p) for w, p in zip(weights, (0.23, 0.19, 0.62), strict=True)) / sum(weights)
    both = changed(effect, (0, 1), shows, gone=True)[3]
    assert exp(both) == pytest.approx(exp(mean))
    assert exp(changed(effect, (0, 1), shows, gone=False)[3]) == pytest.approx(1 - exp(mean))


def test_a_table_over_some_causes_says_the_same_whatever_the_others_are() -> None:
    shares = Shares(0.1, {1: 0.5, 3: 0.7})
    narrow, wide = found(shares, (1, 3)), found(shares, range(5))
    assert spread(narrow, (1, 3), range(5)) == pytest.approx(wide)


@given(
    st.tuples(SHARE, SHARE, SHARE),
    st.lists(st.tuples(SHARE, st.tuples(SHARE, SHARE, SHARE), st.booleans()), max_size=5),
)
def test_chances_are_those_of_adding_up_every_state(
    priors: tuple[float, float, float],
    findings: list[tuple[float, tuple[float, float, float], bool]],
) -> None:
    weights = []
    for state in range(8):
        weight = prod(p if state >> cause & 1 else 1 - p for cause, p in enumerate(priors))
        for leak, more, there in findings:
            alone = {cause: leak + (0.99 - leak) * more[cause] for cause in CAUSES}
            seen = seen_by_hand(leak, alone, state)
            weight *= max(1e-3, seen) if there else 1 - seen
        weights.append(weight)
    by_hand = [
        sum(w for state, w in enumerate(weights) if state >> cause & 1) / sum(weights)
        for cause in CAUSES
    ]
    tables = [prior_table(priors)]
    for leak, more, there in findings:
        shares = Shares(leak, {c: leak + (0.99 - leak) * more[c] for c in CAUSES})
        tables.append(found(shares, CAUSES) if there else added_up(not_found(shares, CAUSES)))
    assert chances(posterior(total(tables))) == pytest.approx(by_hand)
