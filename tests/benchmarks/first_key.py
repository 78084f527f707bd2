"""From the start of the process until its first key is answered, against an empty app."""

from __future__ import annotations

import time
from pathlib import Path

from benchmarks.empty_app import ANSWERED, KEY
from benchmarks.figures import Figure, Figures, Plan
from benchmarks.stance import own_home
from benchmarks.watched import COMMAND, HERE, PYTHON, Watched

GOAL = 1.6


def measure(plan: Plan) -> Figures:
    """Start both in turn; the quickest of each is the one that no other job held up."""
    program, empty = [], []
    for _ in range(plan.of(20, 8)):
        program.append(_answered(COMMAND, key="n", shows="Before testing"))
        empty.append(_answered(PYTHON, str(HERE / "empty_app.py"), key=KEY, shows=ANSWERED))
    ours, least = min(program), min(empty)
    return (
        Figure("first key answered, times that of an empty app", ours / least, goal=GOAL),
        Figure("first key answered", ours * 1000, "ms"),
        Figure("first key answered by an empty app", least * 1000, "ms"),
    )


def _answered(command: Path, *arguments: str, key: str, shows: str) -> float:
    """Seconds until what a key does is on the screen; it is pressed as the process starts."""
    with own_home() as home:
        started = time.perf_counter()
        with Watched(command, *arguments, home=home) as terminal:
            terminal.type(key)
            return terminal.seen_at(shows) - started
