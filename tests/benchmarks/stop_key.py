"""How far the recorded length of a hold is from the time between its two key presses."""

from __future__ import annotations

import random
import statistics
from dataclasses import dataclass

from benchmarks import process
from benchmarks.figures import Figure, Figures, Plan, percentile
from benchmarks.stance import ready_stance, recorded_seconds
from benchmarks.watched import Piece, Watched

GOAL_P99_MS = 2.0

HOLDS_OF_A_SESSION = 40
"""More than any real one has; the next ones are made in a fresh session."""

_SHORTEST_S, _LONGEST_S = 0.8, 1.5
_WATCHED_S = 0.02
"""How long after a press its reading may be held up; longer than nearly any redraw takes."""
_LET_ALONE_MS = 0.2
"""A reading that waited less than this for a core was not held up by other jobs."""


@dataclass(frozen=True, slots=True)
class Hold:
    """One hold: recorded minus pressed, and how long its keys waited for a core to be read on."""

    error_ms: float
    waited_ms: float


def measure(plan: Plan) -> Figures:
    """Make many holds, struck out so that the series never ends and the screen stays."""
    draw = random.Random(1)
    holds: list[Hold] = []
    wanted = plan.of(120, 20)
    while len(holds) < wanted:
        some = min(HOLDS_OF_A_SESSION, wanted - len(holds))
        holds += _holds([draw.uniform(_SHORTEST_S, _LONGEST_S) for _ in range(some)])
    size = [abs(hold.error_ms) for hold in holds]
    mean = statistics.fmean(hold.error_ms for hold in holds)
    return (
        Figure("stop-key error, median", statistics.median(size), "ms"),
        Figure("stop-key error, p95", percentile(size, 95), "ms"),
        Figure(
            "stop-key error, p99",
            percentile(size, 99),
            "ms",
            GOAL_P99_MS,
            f"{len(size)} holds, mean with its sign {mean:+.2f} ms",
        ),
        Figure("stop-key error, largest", max(size), "ms"),
        _let_alone(holds),
    )


def _let_alone(holds: list[Hold]) -> Figure:
    """The tail without the holds in which another job had the core the program needed."""
    what = "stop-key error where no other job was in the way, p99"
    if not process.tells():
        return Figure(what, None, "ms", note=process.ONLY_LINUX)
    size = [abs(hold.error_ms) for hold in holds if hold.waited_ms < _LET_ALONE_MS]
    value = percentile(size, 99) if size else None
    return Figure(what, value, "ms", note=f"{len(size)} of the holds")


def _holds(lengths: list[float]) -> list[Hold]:
    """Make holds of about these lengths in one session."""
    pressed: list[float] = []
    waited: list[float] = []
    with ready_stance() as (terminal, path):
        for length in lengths:
            started, waited_first, pieces = _press(terminal)
            # Nothing is emulated meanwhile, which would take the machine from the program.
            pieces += terminal.collect(started + length)
            stopped, waited_last, more = _press(terminal)
            pressed.append(stopped - started)
            waited.append(waited_first + waited_last)
            for _, data in pieces + more:
                terminal.show(data)
            # It asks where the machine stood still; the error is what it is.
            terminal.wait_for("STOPPED", "ASKING")
            terminal.press("x")
            terminal.press("1")
            terminal.wait_for("READY")
        recorded = recorded_seconds(path)
    return [
        Hold((kept - real) * 1000, held_up)
        for kept, real, held_up in zip(recorded, pressed, waited, strict=True)
    ]


def _press(terminal: Watched) -> tuple[float, float, list[Piece]]:
    """Press the key; when, how long its reading then waited for a core, and what was drawn."""
    before = process.reader_waited_ms(terminal.pid)
    pressed = terminal.type(" ")
    pieces = terminal.collect(pressed + _WATCHED_S)
    return pressed, process.reader_waited_ms(terminal.pid) - before, pieces
