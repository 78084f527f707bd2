"""How long after a key its effect stands on the screen, while the clock of a hold runs."""

from __future__ import annotations

import random
import statistics
import time

from benchmarks.figures import Figure, Figures, Plan, percentile
from benchmarks.stance import ready_stance, sign_labels
from benchmarks.watched import Watched
from support.terminal import PATIENCE_S

GOAL_P95_MS = 50.0

KEYS_OF_A_HOLD = 100
"""As many as fit below the cap of the hold."""

_PAUSE_S = (0.1, 0.25)


def measure(plan: Plan) -> Figures:
    """Mark signs at moments that have nothing to do with the ten redraws a second."""
    draw = random.Random(2)
    labels = sign_labels()
    took: list[float] = []
    wanted = plan.of(200, 40)
    while len(took) < wanted:
        with ready_stance() as (terminal, _):
            terminal.type(" ")
            terminal.wait_for("RUNNING")
            digit = 0
            for _ in range(min(KEYS_OF_A_HOLD, wanted - len(took))):
                # Another key each time: the gate holds a repeated one back, as it should.
                digit = draw.choice([d for d in labels if d != digit])
                took.append(_marked_after_ms(terminal, digit, labels[digit], draw))
    ours = f"{len(took)} keys; a goal of our own"
    return (
        Figure("key to paint, median", statistics.median(took), "ms"),
        Figure("key to paint, p95", percentile(took, 95), "ms", GOAL_P95_MS, ours),
    )


def _marked_after_ms(terminal: Watched, digit: int, label: str, draw: random.Random) -> float:
    for _, data in terminal.collect(time.perf_counter() + draw.uniform(*_PAUSE_S)):
        terminal.show(data)
    row = _row_of(terminal, label)
    before = terminal.screen.display[row]
    written = terminal.type(str(digit))
    while (piece := terminal.read(PATIENCE_S)) is not None:
        at, data = piece
        terminal.show(data)
        if terminal.screen.display[row] != before:
            return (at - written) * 1000
    raise AssertionError(f"key {digit} changed nothing:\n{terminal.text}")


def _row_of(terminal: Watched, label: str) -> int:
    """The row of a sign; a sign that is on stands there in capitals."""
    wanted = label.casefold()
    (row,) = (n for n, line in enumerate(terminal.screen.display) if wanted in line.casefold())
    return row
