"""Limits of agreement, kappa and the Brier score against examples worked by hand or published."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screen_tui.practice.agreement import (
    CHANCE_OF,
    IN_WORDS,
    Counts,
    brier,
    calibration,
    limits_of_agreement,
)

# Peak flow of 17 people by a large and a small meter, the first reading of each: the example of
# Bland and Altman 1986, Lancet 1:307-310 (figures from memory; they give the published sums).
LARGE = (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427)
SMALL = (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451)


def test_the_published_example_of_two_peak_flow_meters() -> None:
    limits = limits_of_agreement([a - b for a, b in zip(LARGE, SMALL, strict=True)])
    assert limits is not None
    assert limits.n == 17
    assert round(limits.bias, 1) == -2.1
    assert limits.sd is not None
    assert round(limits.sd, 1) == 38.8
    # There the limits are the mean -/+ 2 SD: -79.7 and 75.5. The 1.96 here lies within.
    assert limits.bias - 2 * limits.sd == pytest.approx(-79.7, abs=0.1)
    assert limits.bias + 2 * limits.sd == pytest.approx(75.5, abs=0.1)
    assert limits.lower == pytest.approx(limits.bias - 1.96 * limits.sd)
    assert limits.upper == pytest.approx(limits.bias + 1.96 * limits.sd)


def test_three_differences_by_hand() -> None:
    # 0.1, 0.3, 0.2: mean 0.2, squares (.01 + .01 + 0) / 2 = .01, SD 0.1.
    limits = limits_of_agreement([0.1, 0.3, 0.2])
    assert limits is not None
    assert (limits.bias, limits.sd) == (pytest.approx(0.2), pytest.approx(0.1))
    assert (limits.lower, limits.upper) == (None, None)


def test_limits_are_given_from_ten_values_on() -> None:
    # Nine of 0.1 and one of 1.1: mean 0.2, squares (9 * .01 + .81) / 9 = .1, SD .316.
    ten = [0.1] * 9 + [1.1]
    limits = limits_of_agreement(ten)
    assert limits is not None
    assert limits.lower == pytest.approx(0.2 - 1.96 * 0.1**0.5)
    assert limits.upper == pytest.approx(0.2 + 1.96 * 0.1**0.5)
    fewer = limits_of_agreement(ten[1:])
    assert fewer is not None
    assert (fewer.n, fewer.lower, fewer.upper) == (9, None, None)


def test_one_difference_has_a_bias_and_no_limits() -> None:
    limits = limits_of_agreement([0.4])
    assert limits is not None
    assert (limits.n, limits.bias, limits.sd, limits.lower, limits.upper) == (
        1,
        0.4,
        None,
        None,
        None,
    )
    assert limits_of_agreement([]) is None


def test_two_readers_of_fifty_proposals() -> None:
    # 20 both yes, 5 only the first, 10 only the second, 15 both no: po .70, pe .50, kappa .40
    # (a worked example seen in several public texts).
    counts = Counts(hits=20, misses=5, false_alarms=10, rest=15)
    assert counts.n == 50
    assert counts.kappa == pytest.approx(0.40)


def test_three_of_four_signs_by_hand() -> None:
    # 10 pairs: 3 hits, 1 missed, 1 false alarm, 5 rest. po = .8; pe = .4*.4 + .6*.6 = .52;
    # kappa = .28 / .48 = .5833.
    pairs = [(True, True)] * 3 + [(True, False)] + [(False, True)] + [(False, False)] * 5
    counts = Counts.of(pairs)
    assert counts == Counts(3, 1, 1, 5)
    assert counts.sensitivity == pytest.approx(0.75)
    assert counts.false_alarm_rate == pytest.approx(1 / 6)
    assert counts.kappa == pytest.approx(0.5833, abs=1e-4)


def test_full_agreement_is_one_and_full_disagreement_is_below_chance() -> None:
    assert Counts(hits=2, rest=3).kappa == pytest.approx(1)
    assert Counts(misses=2, false_alarms=2).kappa == pytest.approx(-1)


def test_kappa_is_not_defined_where_both_always_say_the_same() -> None:
    assert Counts(rest=7).kappa is None
    assert Counts(hits=7).kappa is None
    assert Counts().kappa is None
    assert Counts(rest=7).sensitivity is None
    assert Counts(hits=7).false_alarm_rate is None
    # Always no where something was there is no better than chance, and defined.
    assert Counts(misses=2, rest=5).kappa == 0


@given(st.lists(st.tuples(st.booleans(), st.booleans()), min_size=1, max_size=60))
def test_kappa_lies_between_minus_one_and_one_and_does_not_care_who_is_who(
    pairs: list[tuple[bool, bool]],
) -> None:
    kappa = Counts.of(pairs).kappa
    turned = Counts.of((b, a) for a, b in pairs).kappa
    if kappa is None:
        assert turned is None
    else:
        assert -1 - 1e-9 <= kappa <= 1 + 1e-9
        assert turned == pytest.approx(kappa)


def test_counts_add_up() -> None:
    assert Counts(1, 2, 3, 4) + Counts(4, 3, 2, 1) == Counts(5, 5, 5, 5)


def test_the_brier_score_of_one_answer() -> None:
    assert brier(5, right=True) == pytest.approx(0.01)
    assert brier(5, right=False) == pytest.approx(0.81)
    assert brier(3, right=True) == brier(3, right=False) == pytest.approx(0.25)
    assert set(CHANCE_OF) == set(IN_WORDS) == {1, 2, 3, 4, 5}


def test_confidence_against_being_right_by_hand() -> None:
    # Chances .9 .9 .7 .3, right 1 0 1 0: squares .01 .81 .09 .09, mean .25; mean chance .7 less
    # share right .5 is .2 too sure.
    four = [(5, True), (5, False), (4, True), (2, False)]
    found = calibration(four * 3)
    assert found is not None
    assert found.n == 12
    assert found.brier == pytest.approx(0.25)
    assert found.overconfidence == pytest.approx(0.2)
    assert calibration([]) is None
    assert calibration((four * 3)[:9]) is None
    assert calibration((four * 3)[:10]) is not None
