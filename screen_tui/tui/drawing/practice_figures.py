"""The figures of practice runs in words, and over the runs as a chart of characters."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.practice.agreement import Counts, Limits
from screen_tui.practice.confidence import Calibration
from screen_tui.practice.progress import ChartLine, Progress
from screen_tui.practice.scoring import Unit
from screen_tui.tui.drawing.rows import BLANK, Row, Span, paragraph, row, rule

_UNITS: dict[Unit, tuple[str, str, int]] = {
    "s": ("Times", "s", 2),
    "repetitions": ("Counts", "repetitions", 1),
    "deg": ("Angles", "degrees", 1),
}
_CHART_ROWS = 4
_AXIS = 7
_COLUMN = 3
NO_RUNS = "No practice run is saved yet."


def limits_words(unit: Unit, limits: Limits) -> str:
    """Bias and limits of agreement; above zero: too long, too many, too bent."""
    label, name, decimals = _UNITS[unit]
    bias = f"{label} ({limits.n}): on average {limits.bias:+.{decimals}f} {name}"
    if limits.lower is None or limits.upper is None:
        return f"{bias}; a single one has no limits of agreement."
    return (
        f"{bias}; 95 % limits of agreement {limits.lower:+.{decimals}f} to "
        f"{limits.upper:+.{decimals}f}."
    )


def signs_words(counts: Counts) -> str:
    """What was seen of what was there, false alarms, and agreement beyond chance."""
    if not counts.n:
        return "No sign could be compared."
    kappa = "not defined" if counts.kappa is None else f"{counts.kappa:.2f}"
    return (
        f"Seen {counts.hits} of {counts.hits + counts.misses} that were there "
        f"({share_words(counts.sensitivity)}); marked {counts.false_alarms} of "
        f"{counts.false_alarms + counts.rest} that were not "
        f"({share_words(counts.false_alarm_rate)}). Kappa {kappa}; 1 is full agreement."
    )


def share_words(share: float | None) -> str:
    """A share in percent; a dash where there is none."""
    return "-" if share is None else f"{share * 100:.0f} %"


def draw_progress(progress: Progress, most: int, width: int) -> list[Row]:
    """Draw all runs together, then each figure run by run.

    Args:
        progress: The figures.
        most: Runs a chart shows at most, the latest ones; fewer where there is less room.
        width: Columns there are.
    """
    if not progress.runs:
        return paragraph(NO_RUNS, width)
    runs = "1 run" if progress.runs == 1 else f"{progress.runs} runs"
    told = [
        f"{runs}; the author's answer in {progress.right}.",
        f"Had to be referred first: {progress.must_refer}; missed: {progress.refer_missed}. "
        f"Tests begun unsafely: {progress.unsafe}.",
        *(limits_words(unit, limits) for unit, limits in progress.limits),
        signs_words(progress.signs),
        *([_calibrated(progress.calibration)] if progress.calibration else []),
    ]
    rows = [rule(width, "All runs"), *(r for one in told for r in paragraph(one, width, indent=2))]
    shown = min(most, (width - _AXIS - 2) // _COLUMN)
    for line in progress.lines:
        rows += [BLANK, *draw_chart(line, shown, width)]
    return rows


def _calibrated(found: Calibration) -> str:
    way = "too sure" if found.overconfidence > 0 else "too modest"
    off = f"{abs(found.overconfidence) * 100:.0f} in 100 {way}" if found.overconfidence else "even"
    return f"Confidence: {off}; mean Brier score {found.brier:.2f}, 0 is best."


def draw_chart(line: ChartLine, most: int, width: int) -> list[Row]:
    """One figure over the latest runs, oldest at the left; a run without it has no mark."""
    points = line.points[-most:]
    unit = f", {line.unit}" if line.unit else ""
    rows = paragraph(f"{line.label}{unit}; {line.better} is better", width, "strong")
    if all(point.value is None for point in points):
        return [*rows, *paragraph("No run tells it.", width, "quiet")]
    marks = [_row_of(line.share(point)) for point in points]
    for at in range(_CHART_ROWS):
        end = line.high if at == 0 else line.low if at == _CHART_ROWS - 1 else None
        axis = "" if end is None else f"{end:.2f}"
        drawn = "".join(("*" if mark == at else "").center(_COLUMN) for mark in marks)
        rows.append(row(f"{axis:>{_AXIS - 1}} |", Span(drawn, "first")))
    first = len(line.points) - len(points) + 1
    numbers = "".join(str(first + place).center(_COLUMN) for place in range(len(points)))
    rows.append(row(Span(f"{'run':>{_AXIS - 1}}  {numbers}", "quiet")))
    last = _values([point.value for point in points])
    return [*rows, *paragraph(f"Latest: {last}", width, "quiet", first=row(" " * (_AXIS + 1)))]


def _row_of(share: float | None) -> int | None:
    return None if share is None else round((1 - share) * (_CHART_ROWS - 1))


def _values(values: Sequence[float | None]) -> str:
    shown = ["-" if value is None else f"{value:.2f}" for value in values[-3:]]
    return ", ".join(shown)
