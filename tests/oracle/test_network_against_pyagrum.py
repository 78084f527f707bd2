"""The chances of the network, against a Bayesian network of pyAgrum built from the same rows.

Needs the dependency group ``oracle``; skipped where pyAgrum is not installed.
"""

from __future__ import annotations

import random

import pytest

from screen_tui.engine.network import (
    Shares,
    added_up,
    chances,
    found,
    not_found,
    posterior,
    prior_table,
    total,
)

gum = pytest.importorskip("pyagrum")


def by_library(priors: list[float], findings: list[tuple[Shares, bool]]) -> list[float]:
    """The same network: causes, and for each finding a noisy-OR node of the library."""
    net = gum.BayesNet()
    for cause, prior in enumerate(priors):
        net.add(gum.LabelizedVariable(f"c{cause}", "", 2))
        net.cpt(f"c{cause}").fillWith([1 - prior, prior])
    for number, (shares, _) in enumerate(findings):
        # Henrion's noisy-OR, whose weights are of one cause alone with the leak beside it.
        net.addNoisyORCompound(gum.LabelizedVariable(f"f{number}", "", 2), shares.leak)
        for cause, alone in shares.alone.items():
            net.addWeightedArc(f"c{cause}", f"f{number}", alone)
    inference = gum.LazyPropagation(net)
    inference.setEvidence({f"f{number}": int(there) for number, (_, there) in enumerate(findings)})
    inference.makeInference()
    return [float(inference.posterior(f"c{cause}")[1]) for cause in range(len(priors))]


@pytest.mark.parametrize("seed", range(12))
def test_chances_are_those_of_the_library(seed: int) -> None:
    draw = random.Random(seed)
    causes = range(5)
    priors = [draw.uniform(0.03, 0.4) for _ in causes]
    findings = []
    for _ in range(draw.randint(1, 9)):
        leak = draw.uniform(0.01, 0.4)
        alone = {cause: draw.uniform(leak, 0.95) for cause in causes if draw.random() < 0.7}
        findings.append((Shares(leak, alone), draw.random() < 0.6))
    tables = [prior_table(priors)]
    for shares, there in findings:
        tables.append(found(shares, causes) if there else added_up(not_found(shares, causes)))
    ours = chances(posterior(total(tables)))
    assert ours == pytest.approx(by_library(priors, findings), abs=2e-3)
