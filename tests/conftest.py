"""What every test can rely on: nothing of the developer's own machine leaks in."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from support.thorough import load_profiles

load_profiles()

FIRST = ("long", "pty")
"""The marks of tests that wait, the longest first."""


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """One more process than cores, as many tests wait; a single one for files that are named."""
    named = all(Path(one.partition("::")[0]).suffix == ".py" for one in config.args)
    return 0 if named else 1 + (os.cpu_count() or 1)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What waits longest comes first, so that at the end no process waits alone."""
    items.sort(key=lambda item: [item.get_closest_marker(mark) is None for mark in FIRST])


@pytest.fixture(autouse=True)
def _own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Sessions and settings of the person who runs the tests are never read or written."""
    home: Path = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("SCREEN_TUI_HOME", str(home))
    # A library for lines that are typed sets the size of a window for all that it starts.
    for name in ("NO_COLOR", "COLUMNS", "LINES"):
        monkeypatch.delenv(name, raising=False)
