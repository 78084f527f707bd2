"""From asking until the sessions of a large folder are listed, or found in it."""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from benchmarks.figures import Figure, Figures, Plan

from screen_tui.files.places import demo_folder
from screen_tui.session.file import load_session, session_text
from screen_tui.session.folder import NEWEST, Listed
from screen_tui.session.store import SessionStore

GOAL_S = 1.0
_CLIENTS = 250
_UNFINISHED_EACH = 200
"""One session of so many was left unfinished, as a busy clinic may have them."""


def measure(plan: Plan) -> Figures:
    """List a generated folder as Start does, and search it as the page of visits does."""
    many, looks = plan.of(10_000, 1_000), plan.of(9, 5)
    with tempfile.TemporaryDirectory(prefix="screen-tui-listing-") as home:
        folder = Path(home) / "sessions"
        _fill(folder, many)
        store = SessionStore(folder)
        newest = _seconds(store.newest, NEWEST, looks)
        one = _seconds(lambda: store.search("k-007"), many // _CLIENTS, looks)
        common = _seconds(lambda: store.search("k-"), NEWEST, looks)
    return (
        Figure(f"list of the newest {NEWEST} of {many:,} sessions", newest, "s", GOAL_S),
        Figure("search of all of them for one client", one, "s", GOAL_S),
        Figure("search for what all of them hold", common, "s", GOAL_S),
    )


def _seconds(look: Callable[[], Listed], many: int, looks: int) -> float:
    """The usual seconds of one look, with nothing known in memory."""
    took = []
    for _ in range(looks):
        started = time.perf_counter()
        found = look().sessions
        took.append(time.perf_counter() - started)
        if len(found) != many or any(one.problem for one in found):
            raise RuntimeError(f"{len(found)} of {many} sessions listed, or some as a problem")
    return statistics.median(took)


def _fill(folder: Path, many: int) -> None:
    """Write invented sessions of some clients."""
    folder.mkdir(mode=0o700)
    largest = max(demo_folder().glob("*.toml"), key=lambda path: path.stat().st_size)
    example = load_session(largest)
    for number in range(many):
        started = example.started + timedelta(minutes=40 * number)
        unfinished = number % _UNFINISHED_EACH == 0
        label = f"K-{number % _CLIENTS:03}"
        session = example.model_copy(
            update={
                "id": f"{started:%Y-%m-%d-%H%M}-{number:05x}",
                "started": started,
                "finished": None if unfinished else started + timedelta(minutes=20),
                "client": example.client.model_copy(update={"label": label}),
            }
        )
        (folder / f"{session.id}.toml").write_text(session_text(session), encoding="utf-8")
