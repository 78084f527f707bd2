"""From asking until a folder of many sessions is listed, after it was looked at once."""

from __future__ import annotations

import statistics
import tempfile
import time
from datetime import timedelta
from pathlib import Path

from benchmarks.figures import Figure, Figures, Plan

from screen_tui.resources import demo_folder
from screen_tui.session.index import SETTLED_AFTER_NS
from screen_tui.session.sessionfile import load_session, session_text
from screen_tui.session.store import SessionStore

GOAL_S = 1.0
_UNFINISHED_EACH = 200
"""One session of so many was left unfinished, as a busy clinic may have them."""


def measure(plan: Plan) -> Figures:
    """List a generated folder as the Start screen does, and once more after a further save."""
    many = plan.of(10_000, 1_000)
    with tempfile.TemporaryDirectory(prefix="screen-tui-listing-") as home:
        folder = Path(home) / "sessions"
        latest = _fill(folder, many)
        # A file that was written this very moment is read once more; none is when a day begins.
        time.sleep(SETTLED_AFTER_NS / 1e9 + 0.1)
        first = _listed(folder, many)
        again = [_listed(folder, many) for _ in range(plan.of(9, 5))]
        store = SessionStore(folder)
        store.save(store.load(latest).model_copy(update={"stopped": "dizzy"}))
        after_save = _listed(folder, many)
    return (
        Figure(f"list of {many:,} sessions", statistics.median(again), "s", GOAL_S),
        Figure("the same after one more save", after_save, "s"),
        Figure("the same at the first look, when all are read", first, "s"),
    )


def _listed(folder: Path, many: int) -> float:
    """Seconds of one look, with nothing known in memory."""
    started = time.perf_counter()
    found = SessionStore(folder).list()
    took = time.perf_counter() - started
    if len(found) != many or any(one.problem for one in found):
        raise RuntimeError(f"{len(found)} of {many} sessions listed, or some as a problem")
    return took


def _fill(folder: Path, many: int) -> str:
    """Write invented sessions of 250 clients, and give the id of the latest."""
    folder.mkdir(mode=0o700)
    largest = max(demo_folder().glob("*.toml"), key=lambda path: path.stat().st_size)
    session = example = load_session(largest)
    for number in range(many):
        started = example.started + timedelta(minutes=40 * number)
        unfinished = number % _UNFINISHED_EACH == 0
        session = example.model_copy(
            update={
                "id": f"{started:%Y-%m-%d-%H%M}-{number:05x}",
                "started": started,
                "finished": None if unfinished else started + timedelta(minutes=20),
                "client": example.client.model_copy(update={"label": f"K-{number % 250:03}"}),
            }
        )
        (folder / f"{session.id}.toml").write_text(session_text(session), encoding="utf-8")
    return session.id
