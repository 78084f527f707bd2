"""People drawn from the rows: chances that come true, and likely drivers that are there.

This tries the arithmetic and the discounts, not the judgement in the rows.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from evidence import drawn as drawing
from evidence.calibration import Calibration, calibrate

from screen_tui.engine.findings import Causes, Evidence
from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol

PROTOCOL = load_protocol([protocols_folder()])


@pytest.fixture(scope="module")
def of_400() -> Calibration:
    return calibrate(PROTOCOL, 400, "knee")


def test_of_those_called_likely_four_in_five_have_the_driver(of_400: Calibration) -> None:
    assert len(of_400.likely) > 300
    assert of_400.share_of_likely >= 0.80


def test_chances_are_far_better_than_the_mere_rate(of_400: Calibration) -> None:
    # 0.069 against 0.155 when this was written.
    assert of_400.brier <= 0.08
    assert of_400.brier < of_400.brier_of_rate / 1.8


def test_the_higher_the_chance_the_more_have_the_driver(of_400: Calibration) -> None:
    shares = [share for count, _, share in of_400.by_tenth() if count >= 50]
    assert len(shares) == 10
    assert shares == sorted(shares)


def test_with_all_recorded_and_nothing_discounted_chances_come_true(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Every sign marked or watched, every number read well: then a chance is what it says."""

    def in_full(_causes: Causes, evidence: list[Evidence]) -> tuple[Evidence, ...]:
        return tuple(replace(one, weight=1.0) for one in evidence)

    monkeypatch.setattr(drawing, "MARKED", 1.0)
    monkeypatch.setattr(drawing, "WATCHED", 1.0)
    monkeypatch.setattr(drawing, "READ_WRONG", 0.0)
    monkeypatch.setattr(drawing, "discounted", in_full)
    # That a floor was passed is left out of what is found, so it is in the chances of nobody.
    whole = PROTOCOL.model_copy(
        update={
            "tests": tuple(
                spec.model_copy(update={"graded": tuple(
                    graded for graded in spec.graded if not graded.levels[0].floor
                )})
                for spec in PROTOCOL.tests
            )
        }
    )  # fmt: skip
    result = calibrate(whole, 300, "knee")
    for count, chance, share in result.by_tenth():
        if count >= 50:
            error = (chance * (1 - chance) / count) ** 0.5
            assert share == pytest.approx(chance, abs=3 * error), (count, chance, share)
