"""Random keys in a few short sessions; the long version is `run.py`."""

from __future__ import annotations

from pathlib import Path

import pytest
from keys.plans import chains
from keys.play import Player, play
from support.thorough import examples

pytestmark = [pytest.mark.pty, pytest.mark.long]

SEED = "short"
SESSIONS, MOST_SENDS = max(8, examples(20)), 40


def test_the_program_bears_whatever_is_sent(tmp_path: Path) -> None:
    lines: list[str] = []
    sessions = chains(SEED, SESSIONS, most=MOST_SENDS)
    tally = play(Player(tmp_path), sessions, jobs=2, tell=lines.append)
    said = "\n".join((*lines, str(tally)))
    assert tally.exit_code == 0, said
    assert tally.sessions == SESSIONS, said
    assert len(tally.pages) > 10, said
