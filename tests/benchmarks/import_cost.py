"""Where the time of a start goes that is spent on imports."""

from __future__ import annotations

import os
import subprocess
from collections import Counter

from benchmarks.watched import AS_INSTALLED, PYTHON

_PROGRAM = "import screen_tui.cli, screen_tui.launch, screen_tui.tui.run"
_EMPTY = "import textual.app, textual.widgets; textual.widgets.Static"
_ROWS = 12


def explain() -> tuple[str, ...]:
    """The packages whose imports cost the program most beyond what an empty app imports."""
    ours, least = by_package(_log(_PROGRAM)), by_package(_log(_EMPTY))
    more = Counter({name: ours[name] - least[name] for name in ours})
    rows = [f"{name}: {ms:.1f} ms" for name, ms in more.most_common(_ROWS) if ms >= 1]
    return (
        f"imports: {sum(ours.values()):.0f} ms with -X importtime, "
        f"an empty app {sum(least.values()):.0f} ms; the difference by package:",
        *rows,
    )


def _log(code: str) -> str:
    command = [str(PYTHON), "-P", "-X", "importtime", "-c", code]
    environment = {**os.environ, **AS_INSTALLED}
    # The first fills the caches.
    for _ in range(2):
        done = subprocess.run(command, capture_output=True, text=True, check=True, env=environment)
    return done.stderr


def by_package(log: str) -> Counter[str]:
    """Milliseconds of each package's own modules, by its name."""
    own: Counter[str] = Counter()
    for line in log.splitlines():
        microseconds, _, name = (part.strip() for part in line.partition(":")[2].split("|"))
        if microseconds.isdigit():
            own[name.partition(".")[0]] += int(microseconds)
    return Counter({name: microseconds / 1000 for name, microseconds in own.items()})
