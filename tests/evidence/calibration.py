"""Whether chances come true in people drawn from the rows: reliability, Brier score, who is likely.

It tries the arithmetic and the discounts, not the judgement: the people are as the rows say.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field

from evidence.drawn import drawn, found_in

from screen_tui.engine.answer import LIKELY, believe, drivers_of, prior_chances
from screen_tui.engine.findings import Causes
from screen_tui.protocol.model import ScreenProtocol

TENTHS = 10


@dataclass
class Calibration:
    """What chances were given, and whether the driver was there.

    Attributes:
        said: For every driver of every person, its chance and whether they have it.
        likely: Of every driver called likely, whether they have it.
    """

    said: list[tuple[float, bool]] = field(default_factory=list)
    likely: list[bool] = field(default_factory=list)

    @property
    def brier(self) -> float:
        """The mean square of chance less truth (Brier 1950, Monthly Weather Review 78:1-3)."""
        return sum((chance - there) ** 2 for chance, there in self.said) / len(self.said)

    @property
    def brier_of_rate(self) -> float:
        """The same for somebody who gives everybody the share that has it."""
        rate = sum(there for _, there in self.said) / len(self.said)
        return rate * (1 - rate)

    @property
    def share_of_likely(self) -> float:
        """Of those called likely, the share that has the driver."""
        return sum(self.likely) / len(self.likely)

    def by_tenth(self) -> list[tuple[int, float, float]]:
        """For each tenth of chance: how many, the mean chance, and the share that has it."""
        rows = []
        for tenth in range(TENTHS):
            here = [one for one in self.said if min(TENTHS - 1, int(one[0] * TENTHS)) == tenth]
            if here:
                chance = sum(chance for chance, _ in here) / len(here)
                rows.append((len(here), chance, sum(there for _, there in here) / len(here)))
            else:
                rows.append((0, 0.0, 0.0))
        return rows


def calibrate(
    protocol: ScreenProtocol, people: int, seed: str, tell: Callable[[int], None] | None = None
) -> Calibration:
    """Draw people, find things in them, and hold what is said of them against what they have."""
    draw = random.Random(seed)
    causes = Causes.of(protocol)
    result = Calibration()
    for number in range(1, people + 1):
        session, state = drawn(protocol, draw)
        found = found_in(protocol, session, state, draw)
        belief = believe(causes, prior_chances(protocol, session, causes), found)
        there = [bool(state >> cause & 1) for cause in range(len(causes.all))]
        result.said += zip(belief.chances, there, strict=True)
        if max(belief.chances) >= LIKELY:
            has = dict(zip(((one.driver, one.side) for one in causes.all), there, strict=True))
            result.likely += [
                has[one.driver, one.side]
                for one in drivers_of(belief, found)
                if one.standing == "likely"
            ]
        if tell is not None:
            tell(number)
    return result
