"""A terminal to which anything can be sent, and which notes what the program did to it."""

from __future__ import annotations

import os
import re
import signal
import termios
import time
from pathlib import Path

from keys.sends import BEGIN_OF_PASTE, END_OF_PASTE, Send, Size
from support.terminal import Terminal

ALTERNATE, CURSOR, REPORTS_ITS_SIZE = 1049, 25, 2048
_MODES = {
    ALTERNATE: "the alternate screen",
    1000: "the mouse",
    1002: "the mouse",
    1003: "the mouse",
    1006: "the mouse",
    1015: "the mouse",
    1016: "the mouse in pixels",
    1004: "reports of focus",
    2004: "marks around what is pasted",
    REPORTS_ITS_SIZE: "reports of the size",
}
"""Modes of the terminal that must be off once the program has ended."""
_SEQUENCE = re.compile(rb"\x1b\[([?<>]?)([\d;]*)([hlu])")
_CUT_OFF = re.compile(rb"\x1b(\[[?<>]?[\d;]*)?\Z")
_A_LOOK_S = 0.02
_BETWEEN_ASKING_S = 0.4
_A_KEY_S = 0.02
"""More than a key takes that leads to another page; what is pasted without marks is as many keys
as it has characters, and waits its turn."""


class Console(Terminal):
    """Sends anything, without ever waiting for a program that does not read.

    Args:
        command: The program and its arguments.
        home: Where the program keeps its data; also its working folder, and the person's home.
        size: Columns and rows.
        patience_s: How long the program may take to answer.

    Attributes:
        modes: The private modes of the terminal the program has switched, and whether on.
        after: What came since the alternate screen was left.
    """

    def __init__(self, command: tuple[str, ...], home: Path, size: Size, patience_s: float) -> None:
        self.size = size
        self.patience_s = patience_s
        self.modes: dict[int, bool] = {}
        self.after = b""
        self._unmarked = 0
        self._keyboards = 0
        self._cut_off = b""
        program, *arguments = command
        super().__init__(
            Path(program), *arguments, home=home, size=size, env={"HOME": str(home)}, cwd=home
        )
        self._handle: int = self.child.child_fd
        os.set_blocking(self._handle, False)

    def __enter__(self) -> Console:
        """Give the console itself."""
        return self

    def _take(self, drawn: bytes) -> None:
        super()._take(drawn)
        drawn = self._cut_off + drawn
        if cut_off := _CUT_OFF.search(drawn):
            self._cut_off, drawn = cut_off.group(), drawn[: cut_off.start()]
        else:
            self._cut_off = b""
        for mark, numbers, end in _SEQUENCE.findall(drawn):
            if end == b"u":
                self._keyboards += {b">": 1, b"<": -1}.get(mark, 0)
            elif mark == b"?":
                self.modes.update({int(n): end == b"h" for n in numbers.split(b";") if n})
        _, left, after = drawn.rpartition(b"\x1b[?1049l")
        self.after = after if left else self.after + drawn

    @property
    def has_the_screen(self) -> bool:
        """Whether the program has taken the screen and reads keys one by one."""
        return self.modes.get(ALTERNATE, False) and not self.modes.get(CURSOR, True)

    @property
    def over(self) -> bool:
        """Whether the program has ended, or has left the screen to do so."""
        return not self.child.isalive() or self.modes.get(ALTERNATE) is False

    def do(self, send: Send) -> None:
        """Send something, and read for a while.

        Raises:
            AssertionError: The program does not read what is sent.
        """
        if send.size is not None:
            self._resize(send.size)
        elif send.signal == "SIGSTOP":
            self.signal(signal.SIGSTOP)
            self.drain(send.pause_s)
            self.signal(signal.SIGCONT)
            return
        elif send.signal:
            self.signal(signal.SIGWINCH)
        self._unmarked += 0 if send.data.startswith(BEGIN_OF_PASTE) else len(send.data)
        self.pour(send.data)
        self.drain(send.pause_s)

    def _resize(self, size: Size) -> None:
        self.size = columns, rows = size
        self.screen.resize(rows, columns)
        self.child.setwinsize(rows, columns)
        if self.modes.get(REPORTS_ITS_SIZE):
            self.pour(f"\x1b[48;{rows};{columns};{rows * 20};{columns * 10}t".encode())

    def pour(self, data: bytes) -> None:
        """Write bytes while reading what comes, so that neither side waits for the other.

        Raises:
            AssertionError: The program does not read them.
        """
        until = time.monotonic() + self.patience_s
        while data and not self.over:
            try:
                data = data[os.write(self._handle, data) :]
            except BlockingIOError:
                self.drain(_A_LOOK_S)
            except OSError:
                return
            assert time.monotonic() < until, "hangs: not all bytes are read"

    def leave(self, *, by_signal: bool) -> float:
        """Ask the program to end, and wait until it has.

        Returns:
            How many seconds that took.

        Raises:
            AssertionError: It does not end.
        """
        begun = time.monotonic()
        patience_s = self.patience_s + _A_KEY_S * self._unmarked
        self.pour(END_OF_PASTE)
        if by_signal and not self.over:
            self.signal(signal.SIGTERM)
        while self.child.isalive():
            assert time.monotonic() < begun + patience_s, "hangs: it does not end when asked"
            if not by_signal:
                self.pour(b"\x11")
            self._look(_BETWEEN_ASKING_S)
        took_s = time.monotonic() - begun
        while not self.child.flag_eof:
            self.drain(_A_LOOK_S)
        return took_s

    def _look(self, seconds: float) -> None:
        until = time.monotonic() + seconds
        while self.child.isalive() and time.monotonic() < until:
            self.drain(_A_LOOK_S)

    def left_behind(self) -> list[str]:
        """What the program should have put back in the terminal and did not."""
        left = {what for mode, what in _MODES.items() if self.modes.get(mode)}
        if not self.modes.get(CURSOR, True):
            left.add("the hidden cursor")
        if self._keyboards > 0:
            left.add("another way to tell keys")
        wanted = termios.ICANON | termios.ECHO | termios.ISIG
        if termios.tcgetattr(self._handle)[3] & wanted != wanted:
            left.add("keys read one by one")
        return sorted(left)
