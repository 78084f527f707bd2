"""What a benchmark comes to: figures with a goal, and the statistics they are made of."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figure:
    """One measured number.

    Attributes:
        what: What was measured.
        value: The number; None where this system cannot tell it.
        unit: Its unit; empty for a ratio.
        goal: The most it may be; None when it is told for information only.
        note: Where the goal comes from, or what else must be known.
    """

    what: str
    value: float | None
    unit: str = ""
    goal: float | None = None
    note: str = ""

    @property
    def met(self) -> bool | None:
        """Whether the goal is met; None without a goal or without a value."""
        if self.goal is None or self.value is None:
            return None
        return self.value <= self.goal


@dataclass(frozen=True, slots=True)
class Plan:
    """How thoroughly to measure."""

    quick: bool = False

    def of(self, full: int, quick: int) -> int:
        """The number of repetitions or seconds."""
        return quick if self.quick else full


Figures = tuple[Figure, ...]
"""What one measurement found."""

Measurement = Callable[[Plan], Figures]


def percentile(values: Sequence[float], per_cent: float) -> float:
    """The smallest value that at least so many per cent of the values do not exceed.

    Raises:
        ValueError: There are no values, or the share is not above 0 and up to 100.
    """
    if not values or not 0 < per_cent <= 100:
        raise ValueError(f"no {per_cent} % of {len(values)} values")
    return sorted(values)[math.ceil(len(values) * per_cent / 100) - 1]
