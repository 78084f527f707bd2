"""The most memory a whole short screen takes, against an empty app."""

from __future__ import annotations

import statistics

from benchmarks import process
from benchmarks.empty_app import SHOWN
from benchmarks.figures import Figure, Outcome, Plan
from benchmarks.stance import own_home
from benchmarks.watched import COMMAND, HERE, PYTHON, Watched
from support.short_screen import short_screen_to_the_note

GOAL = 1.5


def measure(plan: Plan) -> Outcome:
    """Do a short screen from the first question to the note, and look before leaving."""
    what = "peak memory, times that of an empty app"
    if not process.tells():
        return Outcome((Figure(what, None, "", GOAL, process.ONLY_LINUX),))
    # The first run of each compiles what it needs, which takes memory, and does not count.
    program, empty = [], []
    for _ in range(plan.of(5, 1) + 1):
        with own_home() as home, Watched(COMMAND, home=home) as terminal:
            short_screen_to_the_note(terminal)
            program.append(process.peak_megabytes(terminal.pid))
        with own_home() as home, Watched(PYTHON, str(HERE / "empty_app.py"), home=home) as bare:
            bare.wait_for(SHOWN)
            empty.append(process.peak_megabytes(bare.pid))
    ours, least = statistics.median(program[1:]), statistics.median(empty[1:])
    return Outcome(
        (
            Figure(what, ours / least, goal=GOAL),
            Figure("peak memory after a short screen", ours, "MiB"),
            Figure("peak memory of an empty app", least, "MiB"),
        )
    )
