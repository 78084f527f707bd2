"""How much of a core the program takes while a hold runs and the display counts."""

from __future__ import annotations

import statistics
import time

from benchmarks import process
from benchmarks.figures import Figure, Figures, Plan
from benchmarks.stance import ready_stance
from benchmarks.watched import Watched

GOAL_PER_CENT = 5.0

_SETTLED_S = 1.0


def measure(plan: Plan) -> Figures:
    """Let holds run, each in a program of its own."""
    what = "share of a core while a hold runs"
    if not process.tells():
        return (Figure(what, None, "%", GOAL_PER_CENT, process.ONLY_LINUX),)
    seconds = plan.of(22, 8)
    shares = []
    for _ in range(plan.of(3, 1)):
        with ready_stance() as (terminal, _):
            terminal.type(" ")
            terminal.wait_for("RUNNING")
            terminal.collect(time.perf_counter() + _SETTLED_S)
            shares.append(_share(terminal, seconds))
    note = f"{len(shares)} holds of {seconds} s"
    return (Figure(what, statistics.median(shares), "%", GOAL_PER_CENT, note),)


def _share(terminal: Watched, seconds: float) -> float:
    """Per cent of a core over the next seconds."""
    used, began = process.processor_seconds(terminal.pid), time.perf_counter()
    terminal.collect(began + seconds)
    took = time.perf_counter() - began
    return (process.processor_seconds(terminal.pid) - used) / took * 100
