"""The runs a class handed in, as one table: a row for each run."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from statistics import fmean

from screen_tui.practice.run import PracticeRun
from screen_tui.report.table import harmless_cell

Cell = str | int | float | None

COLUMNS = (
    "student",
    "case",
    "run",
    "begun",
    "minutes",
    "level",
    "seed",
    "answer",
    "drivers",
    "confidence",
    "right",
    "next_test",
    "needed",
    "needed_done",
    "must_refer",
    "refer_missed",
    "soon_enough",
    "unsafe",
    "wrong_ticks",
    "hits",
    "misses",
    "false_alarms",
    "rest",
    "timed",
    "mean_error_s",
    "counted",
    "mean_error_count",
    "start",
    "leave_out",
    "brier",
)
"""What the table has of a run; the guide `class` says what each is."""


def class_table(runs: Iterable[PracticeRun]) -> str:
    """The table as comma-separated values, by student and time."""
    written = io.StringIO()
    writer = csv.DictWriter(written, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    for run in sorted(runs, key=lambda one: (one.student, one.begun, one.id)):
        writer.writerow({name: harmless_cell(cell) for name, cell in _row(run).items()})
    return written.getvalue()


def _row(run: PracticeRun) -> dict[str, Cell]:
    given, result = run.commitment, run.result
    named = (f"{one.driver} {one.side}" if one.side else one.driver for one in given.drivers)
    return {
        "student": run.student,
        "case": run.case,
        "run": run.id,
        "begun": run.begun.isoformat(),
        "minutes": round((run.finished - run.begun).total_seconds() / 60, 1),
        "level": run.level,
        "seed": run.seed,
        "answer": given.answer,
        "drivers": "; ".join(named),
        "confidence": given.confidence,
        "right": _yes_no(result.right),
        "next_test": _yes_no(result.next_test),
        "needed": result.needed,
        "needed_done": result.needed_done,
        "must_refer": _yes_no(result.must_refer),
        "refer_missed": _yes_no(result.refer_missed),
        "soon_enough": "" if result.soon_enough is None else _yes_no(result.soon_enough),
        "unsafe": result.unsafe,
        "wrong_ticks": len(result.wrong_ticks),
        "hits": result.hits,
        "misses": result.misses,
        "false_alarms": result.false_alarms,
        "rest": result.rest,
        "timed": len(result.errors_s),
        "mean_error_s": _mean(result.errors_s),
        "counted": len(result.errors_repetitions),
        "mean_error_count": _mean(result.errors_repetitions),
        "start": result.start,
        "leave_out": result.leave_out,
        "brier": result.brier,
    }


def _mean(errors: tuple[float, ...]) -> float | None:
    return round(fmean(errors), 3) if errors else None


def _yes_no(holds: bool) -> str:
    return "yes" if holds else "no"


def series_by_student(runs: Iterable[PracticeRun]) -> dict[str, set[str]]:
    """The series of runs under each code: more than one, and two people share the code."""
    found: dict[str, set[str]] = {}
    for run in runs:
        found.setdefault(run.student, set()).add(run.series or run.id)
    return found
