"""How somebody gets on over several practice runs, as figures that a screen can draw."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import reduce
from operator import add
from statistics import fmean
from typing import Literal

from screen_tui.practice.agreement import Counts, Limits, limits_of_agreement
from screen_tui.practice.confidence import Calibration, calibration
from screen_tui.practice.run import PracticeRun, Result
from screen_tui.practice.scoring import UNITS, Unit

Better = Literal["lower", "higher"]


@dataclass(frozen=True, slots=True)
class Point:
    """One run in a line of a chart; ``value`` is None where the run tells nothing of it."""

    run: str
    case: str
    begun: datetime
    value: float | None


@dataclass(frozen=True, slots=True)
class ChartLine:
    """One figure over the runs, oldest first, with all a chart needs.

    Attributes:
        id: Its id.
        label: What it is, in at most 34 characters.
        unit: Its unit; "" for a share.
        better: Which way is better.
        low: The lower end of the scale.
        high: The upper end of the scale, always above the lower.
        points: One for each run.
    """

    id: str
    label: str
    unit: str
    better: Better
    low: float
    high: float
    points: tuple[Point, ...]

    def share(self, point: Point) -> float | None:
        """Where on the scale a point lies, from 0, the lower end, to 1; None where it has none."""
        if point.value is None:
            return None
        return min(max((point.value - self.low) / (self.high - self.low), 0.0), 1.0)


@dataclass(frozen=True, slots=True)
class Progress:
    """All runs together, and each figure run by run.

    Attributes:
        runs: How many.
        limits: Bias and limits of agreement over all trials of all runs, by unit, where there
            are any.
        signs: All signs of all runs, counted.
        right: Runs with the author's answer.
        must_refer: Runs in which the person had to be referred first.
        refer_missed: Runs of those in which that was missed.
        unsafe: Tests begun over all runs that should not have been.
        calibration: Confidence against being right; None without runs.
        lines: The figures run by run.
    """

    runs: int
    limits: tuple[tuple[Unit, Limits], ...]
    signs: Counts
    right: int
    must_refer: int
    refer_missed: int
    unsafe: int
    calibration: Calibration | None
    lines: tuple[ChartLine, ...]


def progress_of(runs: Sequence[PracticeRun], student: str = "") -> Progress:
    """Sum up runs.

    Args:
        runs: In any order.
        student: Only those of this student; "" for all.
    """
    mine = sorted(
        (run for run in runs if not student or run.student == student),
        key=lambda run: (run.begun, run.id),
    )
    results = [run.result for run in mine]
    pooled = {
        unit: limits_of_agreement([error for one in results for error in one.errors(unit)])
        for unit in UNITS
    }
    return Progress(
        runs=len(mine),
        limits=tuple((unit, limits) for unit, limits in pooled.items() if limits is not None),
        signs=reduce(add, (one.sign_counts for one in results), Counts()),
        right=sum(one.right for one in results),
        must_refer=sum(one.must_refer for one in results),
        refer_missed=sum(one.refer_missed for one in results),
        unsafe=sum(one.unsafe for one in results),
        calibration=calibration((run.commitment.confidence, run.result.right) for run in mine),
        lines=tuple(_line(*figure, mine) for figure in _FIGURES),
    )


def _mean_size(errors: Sequence[float]) -> float | None:
    return fmean(abs(error) for error in errors) if errors else None


Figure = tuple[str, str, str, Better, float | None, Callable[[Result], float | None]]

_FIGURES: tuple[Figure, ...] = (
    ("time", "Mean error of times", "s", "lower", None, lambda one: _mean_size(one.errors_s)),
    (
        "count",
        "Mean error of counts",
        "repetitions",
        "lower",
        None,
        lambda one: _mean_size(one.errors_repetitions),
    ),
    ("seen", "Signs seen of those there", "", "higher", 1, lambda one: one.sign_counts.sensitivity),
    (
        "false-alarms",
        "Signs marked of those not there",
        "",
        "lower",
        1,
        lambda one: one.sign_counts.false_alarm_rate,
    ),
    ("kappa", "Agreement on signs (kappa)", "", "higher", 1, lambda one: one.sign_counts.kappa),
    ("ticks", "Questions ticked wrong", "questions", "lower", None, lambda r: len(r.wrong_ticks)),
    ("unsafe", "Tests begun unsafely", "tests", "lower", None, lambda one: one.unsafe),
    ("right", "Answer as the author's", "", "higher", 1, lambda one: float(one.right)),
    ("brier", "Brier score of confidence", "", "lower", 1, lambda one: one.brier),
)
"""(id, label, unit, better, upper end of the scale or None for the highest value, figure)."""


def _line(
    line_id: str,
    label: str,
    unit: str,
    better: Better,
    high: float | None,
    figure: Callable[[Result], float | None],
    runs: Sequence[PracticeRun],
) -> ChartLine:
    points = tuple(Point(run.id, run.case, run.begun, figure(run.result)) for run in runs)
    values = [point.value for point in points if point.value is not None]
    top = high if high is not None else max([*values, 1.0])
    # Kappa can be below that of chance.
    low = min([*values, 0.0])
    return ChartLine(line_id, label, unit, better, low, top, points)
