"""A command that is interrupted ends with 130 and says nothing, whatever it was doing."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

COMMAND = Path(sys.executable).parent / "screen-tui"

INTERRUPTED_WHILE_IT_LOADS = """
import os, signal, sys

class Swallows:
    def find_spec(self, name, path=None, target=None):
        if name == "screen_tui.cli.protocols":
            try:
                os.kill(os.getpid(), signal.SIGINT)
            except KeyboardInterrupt:
                pass

sys.meta_path.insert(0, Swallows())
from screen_tui.cli.main import main
sys.exit(main(["protocols"]))
"""
"""An import that swallows the interrupt, as one of a library may."""


def test_while_it_reads() -> None:
    with subprocess.Popen(
        [COMMAND, "assess", "-"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        # A job in the background of a shell would be deaf to it.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    ) as command:
        assert command.stdin is not None
        # More than a pipe holds, so it has begun to read when all of it is written.
        command.stdin.write(b"# " + b"x" * 200_000)
        command.send_signal(signal.SIGINT)
        output, errors = command.communicate(timeout=20)
    assert (command.returncode, output, errors) == (130, b"", b"")


def test_while_it_loads() -> None:
    done = subprocess.run(
        [sys.executable, "-c", INTERRUPTED_WHILE_IT_LOADS],
        capture_output=True,
        check=False,
        timeout=20,
    )
    assert (done.returncode, done.stdout, done.stderr) == (130, b"", b"")
