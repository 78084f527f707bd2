"""Whatever a file holds, it is refused within 2 seconds and 200 MB."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from typing import Any

import pytest
from support.monstrous import NAMES, monstrous

from screen_tui.errors import MOST_SHOWN

MOST_S = 2.0
"""Seconds of the processor: by the clock, other jobs would count too."""

MOST_MB = 200.0

_CHILD = """
import contextlib, io, json, sys, time
from screen_tui.cli import main as cli
told = []
for path in sys.argv[1:]:
    said = io.StringIO()
    before = time.process_time()
    with contextlib.redirect_stderr(said):
        code = cli.main(["check", path])
    told.append({"s": time.process_time() - before, "code": code, "said": said.getvalue()})
print(json.dumps(told))
if sys.platform == "linux":
    # What the system gives as the most of a child may be that of its parent before it.
    with open("/proc/self/status") as status:
        (most,) = [line.split()[1] for line in status if line.startswith("VmHWM")]
    print(int(most) / 1024)
"""


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, Any], float | None]:
    """What became of each file in a process of its own, and the most memory it had, in MB."""
    folder = tmp_path_factory.mktemp("monstrous")
    paths = []
    for number, name in enumerate(NAMES):
        path = folder / str(number) / "monstrous.toml"
        path.parent.mkdir()
        path.write_bytes(monstrous(name))
        paths.append(str(path))
    done = subprocess.run(
        [sys.executable, "-c", _CHILD, *paths],
        capture_output=True,
        text=True,
        env={**os.environ, "SCREEN_TUI_HOME": str(folder)},
        timeout=500,
        check=True,
    )
    first, *most = done.stdout.splitlines()
    return dict(zip(NAMES, json.loads(first), strict=True)), float(most[0]) if most else None


@pytest.mark.parametrize("name", NAMES)
def test_a_monstrous_file_is_refused_soon_and_in_few_sentences(told, name: str) -> None:
    refused = told[0][name]
    assert refused["code"] == 3, refused["said"]
    assert refused["s"] < MOST_S
    lines = refused["said"].splitlines()
    assert 1 <= len(lines) <= MOST_SHOWN + 1
    assert all(len(line) < 1000 for line in lines)
    assert len(lines) <= MOST_SHOWN or "more mistakes" in lines[-1]


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells the memory of a process")
def test_none_of_them_takes_much_memory(told) -> None:
    assert told[1] < MOST_MB


def test_the_first_of_many_mistakes_are_shown_as_of_few(told) -> None:
    """Where there are very many, what is wrong is read in another way; it says the same."""
    said = told[0]["trials of wrong signs"]["said"].splitlines()
    assert said[0].endswith(':8: trials[0].signs[0]: must be text in "quotes", but is 1')
    said = told[0]["trials of unknown names"]["said"].splitlines()
    assert said[1].endswith(":7: trials[0].k0: is not a known field here; check the spelling")
