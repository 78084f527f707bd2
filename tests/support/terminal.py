"""The installed command in a real pseudo-terminal, read back as a person would see it."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType

import pexpect
import pyte

PATIENCE_S = 20.0
"""How long a text may take to appear on a busy machine."""

_NOT_INHERITED = ("NO_COLOR", "COLORTERM", "COLUMNS", "LINES")
"""What would outrank the terminal itself. A library for lines that are typed sets the last two for
all that a process starts, also where the process itself does not see them."""


class Terminal:
    """Runs a program and keeps a picture of its screen.

    Args:
        command: The program.
        arguments: Its arguments.
        home: Where the program keeps its data.
        size: Columns and rows.
        env: Further environment variables.
        cwd: The folder it runs in; that of the tests when left out.
    """

    def __init__(
        self,
        command: Path,
        *arguments: str,
        home: Path,
        size: tuple[int, int] = (80, 24),
        env: dict[str, str] | None = None,
        cwd: Path | None = None,
    ) -> None:
        columns, rows = size
        self.screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self.screen)
        plain = {name: value for name, value in os.environ.items() if name not in _NOT_INHERITED}
        self.child = pexpect.spawn(
            str(command),
            list(arguments),
            dimensions=(rows, columns),
            env={**plain, "TERM": "xterm-256color", "SCREEN_TUI_HOME": str(home), **(env or {})},
            timeout=PATIENCE_S,
            cwd=cwd,
        )
        # The 50 ms that pexpect waits by default before it sends would spoil every timing.
        self.child.delaybeforesend = None

    def __enter__(self) -> Terminal:
        """Give the terminal itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End the program whatever happened."""
        self.child.close(force=True)

    def drain(self, seconds: float = 0.05) -> None:
        """Read what the program has drawn, for at least so long."""
        until = time.monotonic() + seconds
        while True:
            left = until - time.monotonic()
            try:
                self._take(self.child.read_nonblocking(65536, timeout=max(left, 0.0)))
            except pexpect.TIMEOUT:
                return
            except pexpect.EOF:
                return
            if left <= 0:
                return

    def _take(self, drawn: bytes) -> None:
        self._stream.feed(drawn)

    @property
    def text(self) -> str:
        """The screen, line by line, without blanks at the ends."""
        return "\n".join(line.rstrip() for line in self.screen.display)

    def wait_for(self, *wanted: str) -> str:
        """Read until one of the texts stands on the screen, and give the whole screen.

        Raises:
            AssertionError: It did not appear in time.
        """
        self.wait_until(lambda: any(text in self.text for text in wanted), " or ".join(wanted))
        return self.text

    def wait_until(self, there: Callable[[], bool], what: str) -> None:
        """Read until it is so.

        Raises:
            AssertionError: It never was.
        """
        until = time.monotonic() + PATIENCE_S
        while not there():
            assert time.monotonic() < until, f"never on the screen: {what}\n{self.text}"
            self.drain(0.02)

    def press(self, *keys: str) -> None:
        """Press keys one after the other; each is read before the next is sent."""
        for key in keys:
            self.child.send(KEYS.get(key, key))
            self.drain(0.06)

    def signal(self, number: signal.Signals) -> None:
        """Send a signal to the program."""
        self.child.kill(number)

    def wait_for_end(self) -> int | None:
        """Read on until the program ends, and give its exit code; None when a signal killed it."""
        until = time.monotonic() + PATIENCE_S
        while self.child.isalive():
            assert time.monotonic() < until, f"the program did not end:\n{self.text}"
            self.drain()
        self.drain(0.2)
        return self.child.exitstatus

    def ending(self) -> str:
        """How the program ended: ``0``, another exit code, or the name of a signal.

        Raises:
            AssertionError: It lives on.
        """
        until = time.monotonic() + PATIENCE_S
        while self.child.isalive():
            assert time.monotonic() < until, "the program lives on"
            time.sleep(0.01)
        number = self.child.signalstatus
        return str(self.child.exitstatus) if number is None else signal.Signals(number).name


KEYS = {"enter": "\r", "space": " ", "backspace": "\x7f", "tab": "\t"}
