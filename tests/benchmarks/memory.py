"""The most memory a screen takes from the first question to the note, against an empty app."""

from __future__ import annotations

import statistics
from collections.abc import Callable

from benchmarks import process
from benchmarks.empty_app import SHOWN
from benchmarks.figures import Figure, Outcome, Plan
from benchmarks.stance import own_home
from benchmarks.watched import COMMAND, HERE, PYTHON, Watched
from support.short_screen import short_screen_to_the_note
from support.whole_screen import whole_screen_to_the_note

GOAL = 1.5


def measure(plan: Plan) -> Outcome:
    """Do short screens and one with every test for all goals, and look before leaving."""
    short, whole = "peak memory after a short screen", "peak memory after a whole screen"
    if not process.tells():
        return Outcome(tuple(_times(what, None, process.ONLY_LINUX) for what in (short, whole)))
    # The first run of each compiles what it needs, which takes memory, and does not count.
    runs = plan.of(5, 1) + 1
    least = statistics.median([_of_an_empty_app() for _ in range(runs)][1:])
    shorts = [_after(short_screen_to_the_note) for _ in range(runs)][1:]
    figures = [_times(short, statistics.median(shorts) / least)]
    if not plan.quick:
        peak = _after(lambda terminal: whole_screen_to_the_note(terminal, "1234"))
        figures += [_times(whole, peak / least), Figure(whole, peak, "MiB")]
    figures += [
        Figure(short, statistics.median(shorts), "MiB"),
        Figure("peak memory of an empty app", least, "MiB"),
    ]
    return Outcome(tuple(figures))


def _times(what: str, ratio: float | None, note: str = "") -> Figure:
    return Figure(f"{what}, times that of an empty app", ratio, "", GOAL, note)


def _after(do: Callable[[Watched], object]) -> float:
    """MiB after something was done with the program."""
    with own_home() as home, Watched(COMMAND, home=home) as terminal:
        do(terminal)
        return process.peak_megabytes(terminal.pid)


def _of_an_empty_app() -> float:
    with own_home() as home, Watched(PYTHON, str(HERE / "empty_app.py"), home=home) as bare:
        bare.wait_for(SHOWN)
        return process.peak_megabytes(bare.pid)
