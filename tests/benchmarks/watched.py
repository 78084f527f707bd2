"""A program in a pseudo-terminal whose keys and output are stamped where they pass the file handle.

Emulating a screen takes time that would be counted as the program's. So output is only collected,
with the time at which it came, and emulated once nothing more comes.
"""

from __future__ import annotations

import os
import select
import sys
import tempfile
import time
from pathlib import Path
from typing import Self

from support.terminal import PATIENCE_S, Terminal

PYTHON = Path(sys.executable)
COMMAND = PYTHON.parent / "screen-tui"
HERE = Path(__file__).parent

_BYTECODE = tempfile.TemporaryDirectory(prefix="knee-benchmark-bytecode-")

AS_INSTALLED = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": _BYTECODE.name}
"""Variables under which everything runs from bytecode, as an installed program does.

A checkout may have none, and in some environments is not allowed to write any; the program would
then be compiled at every start and the framework would not. The first start of a run writes it,
outside the checkout.
"""

Piece = tuple[float, bytes]
"""Output, and the time at which it was read."""

_QUIET_S = 0.03
_MOST_BYTES = 65536


class Watched(Terminal):
    """A terminal that notes when something passes.

    Times are seconds of `time.perf_counter`, which on Linux has the zero of the program's own
    stamps.
    """

    def __init__(self, command: Path, *arguments: str, home: Path) -> None:
        super().__init__(command, *arguments, home=home, env=AS_INSTALLED)

    def __enter__(self) -> Self:
        """Give the terminal itself."""
        return self

    @property
    def pid(self) -> int:
        """The process."""
        pid: int = self.child.pid
        return pid

    def type(self, keys: str) -> float:
        """Write keys at once, and give the time just before."""
        written = keys.encode()
        now = time.perf_counter()
        os.write(self.child.child_fd, written)
        return now

    def read(self, seconds: float) -> Piece | None:
        """The next output, or None when none comes in time.

        Raises:
            AssertionError: The program has ended.
        """
        ready, _, _ = select.select([self.child.child_fd], [], [], max(seconds, 0.0))
        if not ready:
            return None
        now = time.perf_counter()
        try:
            data = os.read(self.child.child_fd, _MOST_BYTES)
        except OSError:
            data = b""
        assert data, f"the program has ended:\n{self.text}"
        return now, data

    def show(self, data: bytes) -> None:
        """Emulate output that was read."""
        self._stream.feed(data)

    def collect(self, until: float) -> list[Piece]:
        """Read until that time without emulating."""
        pieces = []
        while (left := until - time.perf_counter()) > 0:
            piece = self.read(left)
            if piece is not None:
                pieces.append(piece)
        return pieces

    def settle(self, quiet_s: float = _QUIET_S) -> list[Piece]:
        """Read until nothing comes for so long; nothing is emulated."""
        pieces = []
        while (piece := self.read(quiet_s)) is not None:
            pieces.append(piece)
        return pieces

    def seen_at(self, wanted: str) -> float:
        """Wait for a text, and give the time at which the output that completed it was read.

        Raises:
            AssertionError: It did not appear, or the program has ended.
        """
        until = time.perf_counter() + PATIENCE_S
        while time.perf_counter() < until:
            for at, data in self.settle():
                self.show(data)
                if wanted in self.text:
                    return at
        raise AssertionError(f"{wanted!r} never appeared:\n{self.text}")
