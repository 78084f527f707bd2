"""From the start of the process until the first screen stands, against an empty app."""

from __future__ import annotations

import statistics
import time
from pathlib import Path

from benchmarks import import_cost
from benchmarks.empty_app import SHOWN
from benchmarks.figures import Figure, Outcome, Plan
from benchmarks.stance import battery_name, own_home
from benchmarks.watched import COMMAND, HERE, PYTHON, Watched

GOAL = 1.25


def measure(plan: Plan) -> Outcome:
    """Start both in turn, so that a busy spell of the machine hits both."""
    # The first start of each compiles and fills the caches of the disk; it does not count.
    program, taking, empty = [], [], []
    name = battery_name()
    for _ in range(plan.of(20, 5) + 1):
        painted, takes_keys = _seen(COMMAND, shown=("New screen", name))
        program.append(painted)
        taking.append(takes_keys)
        empty += _seen(PYTHON, str(HERE / "empty_app.py"), shown=(SHOWN,))
    ours, least = statistics.median(program[1:]), statistics.median(empty[1:])
    ratio = Figure("first paint, times that of an empty app", ours / least, goal=GOAL)
    figures = (
        ratio,
        Figure("first paint", ours * 1000, "ms"),
        Figure("first paint of an empty app", least * 1000, "ms"),
        Figure("start until keys are answered", statistics.median(taking[1:]) * 1000, "ms"),
    )
    return Outcome(figures, import_cost.explain() if ratio.met is False else ())


def _seen(command: Path, *arguments: str, shown: tuple[str, ...]) -> list[float]:
    """Seconds until each of the texts stands on the screen, which come in that order."""
    with own_home() as home:
        started = time.perf_counter()
        with Watched(command, *arguments, home=home) as terminal:
            return [terminal.seen_at(text) - started for text in shown]
