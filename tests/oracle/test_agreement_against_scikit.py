"""Kappa, limits of agreement and the Brier score against scikit-learn, NumPy and SciPy.

Needs the dependency group ``oracle``; skipped where it is not installed.
"""

from __future__ import annotations

import random

import pytest

from screen_tui.practice.agreement import CHANCE_OF, Counts, calibration, limits_of_agreement

metrics = pytest.importorskip("sklearn.metrics")
numpy = pytest.importorskip("numpy")
stats = pytest.importorskip("scipy.stats")


@pytest.mark.parametrize("seed", range(40))
def test_kappa_is_that_of_scikit_learn(seed: int) -> None:
    draw = random.Random(seed)
    truth = [draw.random() < 0.3 for _ in range(draw.randint(2, 80))]
    marked = [sign if draw.random() < 0.8 else not sign for sign in truth]
    kappa = Counts.of(zip(truth, marked, strict=True)).kappa
    if len({*truth, *marked}) == 1:
        assert kappa is None
    else:
        assert kappa == pytest.approx(metrics.cohen_kappa_score(truth, marked))


@pytest.mark.parametrize("seed", range(40))
def test_sensitivity_is_the_recall_of_scikit_learn(seed: int) -> None:
    draw = random.Random(seed)
    truth = [True, *(draw.random() < 0.4 for _ in range(30))]
    marked = [draw.random() < 0.5 for _ in truth]
    counts = Counts.of(zip(truth, marked, strict=True))
    assert counts.sensitivity == pytest.approx(metrics.recall_score(truth, marked))
    matrix = metrics.confusion_matrix(truth, marked, labels=[False, True]).ravel().tolist()
    assert matrix == [counts.rest, counts.false_alarms, counts.misses, counts.hits]


@pytest.mark.parametrize("seed", range(20))
def test_bias_and_limits_are_those_of_numpy_and_the_normal_distribution(seed: int) -> None:
    draw = random.Random(seed)
    differences = [draw.gauss(0.3, 0.8) for _ in range(draw.randint(10, 60))]
    limits = limits_of_agreement(differences)
    assert limits is not None
    sd = numpy.std(differences, ddof=1)
    assert limits.bias == pytest.approx(numpy.mean(differences))
    assert limits.sd == pytest.approx(sd)
    # 1.96 is the published rounding of 1.95996.
    lower, upper = stats.norm.interval(0.95, loc=numpy.mean(differences), scale=sd)
    assert limits.lower == pytest.approx(lower, abs=1e-4 * sd)
    assert limits.upper == pytest.approx(upper, abs=1e-4 * sd)


@pytest.mark.parametrize("seed", range(20))
def test_the_brier_score_is_that_of_scikit_learn(seed: int) -> None:
    draw = random.Random(seed)
    answers = [(draw.randint(1, 5), draw.random() < 0.5) for _ in range(30)]
    found = calibration(answers)
    assert found is not None
    chances = [CHANCE_OF[confidence] for confidence, _ in answers]
    rights = [right for _, right in answers]
    assert found.brier == pytest.approx(metrics.brier_score_loss(rights, chances))
