"""What every test can rely on: nothing of the developer's own machine leaks in."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import settings

# A busy two-core machine must not fail a property by the clock.
settings.register_profile("steady", deadline=None)
settings.load_profile("steady")


@pytest.fixture(autouse=True)
def _own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Sessions and settings of the person who runs the tests are never read or written."""
    home: Path = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("SCREEN_TUI_HOME", str(home))
    monkeypatch.delenv("NO_COLOR", raising=False)
