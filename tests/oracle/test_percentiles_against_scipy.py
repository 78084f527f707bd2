"""Percentiles of every shipped reference row, against the normal distribution of SciPy.

Needs the dependency group ``oracle``; skipped where SciPy is not installed.
"""

from __future__ import annotations

import pytest
from support.small_protocol import grade, measure, protocol, session, test_spec

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol

stats = pytest.importorskip("scipy.stats")

ROWS = sorted(
    {
        (row.mean, row.sd, test.measure(reference.measure).better)
        for test in load_protocol([protocols_folder()]).tests
        for reference in test.references
        for row in reference.rows
        if row.sd
    }
)
PAPER = {
    "id": "paper",
    "provenance": "published",
    "authors": "Invented",
    "year": 2000,
    "title": "t",
    "journal": "j",
}


def test_there_are_rows_to_check() -> None:
    assert len(ROWS) >= 10


@pytest.mark.parametrize(("mean", "sd", "better"), ROWS)
def test_the_percentile_of_a_result_is_that_of_the_normal_distribution(
    mean: float, sd: float, better: str
) -> None:
    reference = {
        "measure": "value",
        "rows": [{"from_age": 60, "to_age": 69, "mean": mean, "sd": sd}],
        "population": "invented",
        "source": "paper",
    }
    spec = test_spec(
        "stance",
        references=[reference],
        measures=[measure(better=better)],
        plausible={"minimum": 0, "maximum": 1000},
    )
    sources = [PAPER, {"id": "judgement", "provenance": "clinical judgement", "title": "t"}]
    for deviations in (-2.5, -1.0, -0.3, 0.0, 0.7, 1.9):
        value = mean + deviations * sd
        if value < 0:
            continue
        made = session({"test": "stance", "side": "left", "value": value})
        (result,) = grade(protocol(spec, sources=sources), made).values()
        assert result.reference is not None
        tail = stats.norm.cdf if better == "higher" else stats.norm.sf
        assert result.reference.percentile == pytest.approx(100 * tail(value, mean, sd), abs=1e-6)
