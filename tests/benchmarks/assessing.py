"""How long it takes to judge a session: the command line, the judging alone, what to test next."""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from benchmarks.figures import Figure, Figures, Plan
from benchmarks.stance import own_home
from benchmarks.watched import AS_INSTALLED, COMMAND, PYTHON

from screen_tui.engine import assess
from screen_tui.engine.answer import believe, prior_chances
from screen_tui.engine.conditions import Seen
from screen_tui.engine.findings import Causes, evidence_of
from screen_tui.engine.next_tests import next_tests
from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.file import load_session
from screen_tui.session.model import Session

GOAL = 2.0
JUDGING_MS, RANKING_MS = 20.0, 100.0


def measure(plan: Plan) -> Figures:
    """Run the command and the import in turn; the quickest is the one no other job held up."""
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


def judging(plan: Plan) -> Figures:
    """Judge every demo, and rank what is still open after half of it; the slowest counts."""
    protocol = load_protocol([protocols_folder()])
    demos = [load_session(path) for path in sorted(demo_folder().glob("*.toml"))]
    looks = plan.of(15, 5)
    # A screen that was stopped is judged in full, and nothing is ranked.
    judged = [one.model_copy(update={"stopped": "for the benchmark"}) for one in demos]
    halves = [
        one.model_copy(update={"trials": one.trials[: len(one.trials) // 2]}) for one in demos
    ]
    slowest = max(_quickest(partial(assess, protocol, one), looks) for one in judged)
    ranking = max(_quickest(_ranking(protocol, one), looks) for one in halves)
    return (
        Figure("judging the slowest demo, time of a core", slowest, "ms", JUDGING_MS),
        Figure("ranking the next tests of the slowest, half done", ranking, "ms", RANKING_MS),
    )


def _ranking(protocol: ScreenProtocol, session: Session) -> Callable[[], object]:
    causes, seen = Causes.of(protocol), Seen.of(protocol, session)
    found = evidence_of(seen)
    belief = believe(causes, prior_chances(protocol, session, causes), found)
    traits = {(one.trait, one.leg) for one in found}
    return partial(next_tests, seen, belief, traits, lambda _spec, _side: True)


def _quickest(look: Callable[[], object], looks: int) -> float:
    """Milliseconds of a core, of the look that no other job held up."""
    took = []
    for _ in range(looks):
        started = time.process_time()
        look()
        took.append(time.process_time() - started)
    return min(took) * 1000
