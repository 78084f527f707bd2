"""The program is ended at random instants, a few times; the long version is `run.py`."""

from __future__ import annotations

from pathlib import Path

import pytest
from kill.play import play
from support.thorough import examples

pytestmark = [pytest.mark.pty, pytest.mark.long]

SEED = "short"
KILLS, OTHERS = max(3, examples(9)), 1
"""In the third round trials are kept for certain."""


def test_nothing_the_screen_told_is_lost(tmp_path: Path) -> None:
    lines: list[str] = []
    tally = play(tmp_path, SEED, KILLS, OTHERS, tell=lines.append)
    said = "\n".join((*lines, str(tally)))
    assert tally.exit_code == 0, said
    assert tally.trials > 0, said
    assert tally.ended.total() == KILLS + 3 * OTHERS, said
