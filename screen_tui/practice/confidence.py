"""Whether somebody is as often right as they are sure: the Brier score.

Brier GW 1950. Verification of forecasts expressed in terms of probability. Mon Weather Rev 78:1-3
(from memory; the form with one probability, from 0 to 1, was read in later texts).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean

CHANCE_OF: Mapping[int, float] = {1: 0.1, 2: 0.3, 3: 0.5, 4: 0.7, 5: 0.9}
"""The chance of being right that each confidence stands for: the middles of five equal bands."""

IN_WORDS: Mapping[int, str] = {
    1: "a guess: right about 1 time in 10",
    2: "unsure: right about 3 times in 10",
    3: "even: right about 5 times in 10",
    4: "fairly sure: right about 7 times in 10",
    5: "sure: right about 9 times in 10",
}


@dataclass(frozen=True, slots=True)
class Calibration:
    """Confidence against being right, over several answers.

    Attributes:
        n: How many answers.
        brier: The mean of ``(chance - right)^2``, with right 1 or 0: 0 is best; 0.25 is what
            always saying 5 in 10 gives; 1 is worst.
        overconfidence: The mean chance less the share that was right; below zero: too modest.
    """

    n: int
    brier: float
    overconfidence: float


def brier(confidence: int, *, right: bool) -> float:
    """The Brier score of one answer: from 0.01, sure and right, to 0.81, sure and wrong."""
    return (CHANCE_OF[confidence] - right) ** 2


def calibration(answers: Iterable[tuple[int, bool]]) -> Calibration | None:
    """Sum up (confidence, right) pairs; None without any."""
    listed: Sequence[tuple[int, bool]] = list(answers)
    if not listed:
        return None
    return Calibration(
        n=len(listed),
        brier=fmean(brier(confidence, right=right) for confidence, right in listed),
        overconfidence=fmean(CHANCE_OF[confidence] - right for confidence, right in listed),
    )
