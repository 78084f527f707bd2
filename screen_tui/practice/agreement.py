"""How well two series agree (limits of agreement, kappa), and confidence with being right (Brier).

Limits of agreement: Bland JM, Altman DG 1986. Statistical methods for assessing agreement between
two methods of clinical measurement. Lancet 1:307-310 (the formula read in quotations of it).
Kappa: Cohen J 1960. A coefficient of agreement for nominal scales. Educ Psychol Meas 20:37-46
(the formula read in secondary texts).
Brier GW 1950. Verification of forecasts expressed in terms of probability. Mon Weather Rev 78:1-3
(from memory; the form with one probability, from 0 to 1, was read in later texts).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import astuple, dataclass
from statistics import fmean, stdev

LEAST = 10
"""Values below which no limits of agreement and no calibration are given (judgement)."""

NORMAL_95 = 1.96
"""Standard deviations either side of the mean that hold 95 % of a normal distribution."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Differences between what was measured and what was true, summed up, in their unit.

    Attributes:
        bias: Their mean; above zero: measured too much.
        sd: Their standard deviation (n - 1); None for a single one.
        lower: Bias minus 1.96 standard deviations; None below `LEAST` of them, as ``upper`` is.
    """

    n: int
    bias: float
    sd: float | None
    lower: float | None
    upper: float | None


def limits_of_agreement(differences: Sequence[float]) -> Limits | None:
    """Sum up differences; None where there are none.

    About 95 of 100 further differences are expected between the limits, as far as they follow a
    normal distribution and do not grow with what is measured.
    """
    if not differences:
        return None
    n, bias = len(differences), fmean(differences)
    sd = stdev(differences) if n > 1 else None
    if sd is None or n < LEAST:
        return Limits(n, bias, sd, None, None)
    return Limits(n, bias, sd, bias - NORMAL_95 * sd, bias + NORMAL_95 * sd)


@dataclass(frozen=True, slots=True)
class Counts:
    """Yes and no of two observers, counted; one of them is the truth."""

    hits: int = 0
    misses: int = 0
    false_alarms: int = 0
    rest: int = 0

    @classmethod
    def of(cls, pairs: Iterable[tuple[bool, bool]]) -> Counts:
        found = Counter(pairs)
        return cls(found[True, True], found[True, False], found[False, True], found[False, False])

    @property
    def n(self) -> int:
        return sum(astuple(self))

    @property
    def sensitivity(self) -> float | None:
        """The share seen of what was there; None where nothing was."""
        there = self.hits + self.misses
        return self.hits / there if there else None

    @property
    def false_alarm_rate(self) -> float | None:
        """The share seen of what was not there; None where all was there."""
        absent = self.false_alarms + self.rest
        return self.false_alarms / absent if absent else None

    @property
    def kappa(self) -> float | None:
        """Agreement beyond chance: 1 is full, 0 is that of chance, below is worse.

        ``(po - pe) / (1 - pe)``, with ``po`` the share of pairs that agree and ``pe`` the share
        that two observers who each say yes as often as these did would agree on by chance. None
        where it is not defined: no pairs, or both always said the same one thing.
        """
        if not self.n:
            return None
        there = (self.hits + self.misses) / self.n
        seen = (self.hits + self.false_alarms) / self.n
        agreed = (self.hits + self.rest) / self.n
        by_chance = there * seen + (1 - there) * (1 - seen)
        # Both always said yes, or both always no: seen from the counts, not by a rounded sum.
        if self.n in (self.hits, self.rest):
            return None
        return (agreed - by_chance) / (1 - by_chance)

    def __add__(self, other: Counts) -> Counts:
        return Counts(*map(sum, zip(astuple(self), astuple(other), strict=True)))


CHANCE_OF: Mapping[int, float] = {1: 0.1, 2: 0.3, 3: 0.5, 4: 0.7, 5: 0.9}
"""The chance of being right that each confidence means: the middles of five equal bands."""

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
    """Sum up (confidence, right) pairs; None below `LEAST` of them."""
    listed = list(answers)
    if len(listed) < LEAST:
        return None
    return Calibration(
        n=len(listed),
        brier=fmean(brier(confidence, right=right) for confidence, right in listed),
        overconfidence=fmean(CHANCE_OF[confidence] - right for confidence, right in listed),
    )
