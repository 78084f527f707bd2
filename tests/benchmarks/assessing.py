"""How long the command line takes to judge a session, against importing its library of models."""

from __future__ import annotations

import os
import subprocess
import time
from pathlib import Path

from benchmarks.figures import Figure, Figures, Plan
from benchmarks.stance import own_home
from benchmarks.watched import AS_INSTALLED, COMMAND, PYTHON

from screen_tui.files.places import demo_folder

GOAL = 2.0


def measure(plan: Plan) -> Figures:
    """Run both in turn; the quickest of each is the one that no other job held up."""
    largest = max(demo_folder().glob("*.toml"), key=lambda path: path.stat().st_size)
    program, least = [], []
    with own_home() as home:
        for _ in range(plan.of(20, 8)):
            program.append(_took(home, str(COMMAND), "assess", str(largest)))
            least.append(_took(home, str(PYTHON), "-c", "import pydantic"))
    return (
        Figure("assess, times importing pydantic", min(program) / min(least), goal=GOAL),
        Figure("assess", min(program) * 1000, "ms"),
        Figure("importing pydantic", min(least) * 1000, "ms"),
    )


def _took(home: Path, *command: str) -> float:
    """Seconds that a whole process takes."""
    environment = {**os.environ, **AS_INSTALLED, "SCREEN_TUI_HOME": str(home)}
    started = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, check=True, env=environment)
    return time.perf_counter() - started
