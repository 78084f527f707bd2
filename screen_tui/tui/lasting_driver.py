"""The framework's driver for Linux and macOS, made to last.

What would not do as it is:

- It writes from a thread of its own, through a queue of thirty entries. When a window is closed the
  first write fails, that thread dies, and the program waits for ever to put one more entry into the
  full queue: it neither saves nor ends.
- Whatever the thread that reads keys stumbles over ends the program, with a traceback that shows
  the values of local variables.
- Continued after a stop that nobody announced (SIGSTOP), the program would begin a second such
  thread. The two take bytes from each other, and one waits in a read when the program is to end.
- Both signals are answered at once, also in the midst of a write, which then waits for itself.
"""

from __future__ import annotations

import asyncio
import errno
import os
import selectors
import signal
import sys
import termios
from collections.abc import Callable
from contextlib import suppress
from typing import IO, Any, Final, cast

from textual.drivers.linux_driver import LinuxDriver

from screen_tui.tui.terminal_input import InputFailed, InputReader

_LOOK_S: Final = 0.1
"""How long at most to wait for bytes before looking whether the program ends."""
_HUNG_UP_S: Final = 0.02
"""How long to let a terminal be that hung up; `lifecycle.TerminalWatch` sees that it is gone."""
_MOST_BYTES: Final = 4096

_MODES: Final = (
    "\x1b[?1049h"  # the screen that keeps no lines
    "\x1b[?25l"  # no cursor
    "\x1b[?7l"  # lines that are not wrapped
    "\x1b[?2004h"  # a mark around what is pasted
    "\x1b[?1000h\x1b[?1003h\x1b[?1015h\x1b[?1006h"  # the mouse
)
"""What the framework sets at the start, and a shell that had the terminal may have changed."""


class LastingOutput:
    """The file of the terminal; what can no longer be written is dropped."""

    def __init__(self, file: IO[str]) -> None:
        self._file = file

    def write(self, text: str) -> None:
        with suppress(OSError):
            self._file.write(text)

    def flush(self) -> None:
        with suppress(OSError):
            self._file.flush()

    def fileno(self) -> int:
        return self._file.fileno()


class LastingDriver(LinuxDriver):
    """Reads whatever a terminal sends, by one thread from beginning to end."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        own = cast("Any", self)
        # The framework draws on standard error, which may be closed or lead into a file.
        own._file = LastingOutput(cast("IO[str]", sys.__stdout__))
        self._events = asyncio.get_running_loop()
        self._wanted = False
        self._attributes: list[Any] | None = None
        # In place of the framework's.
        signal.signal(signal.SIGTSTP, self._answer_stop)
        signal.signal(signal.SIGCONT, self._answer_continue)

    def start_application_mode(self) -> None:
        """Take the terminal; where it is another's, the program stops in here until it is ours."""
        self._wanted = True
        if not self._has_terminal:
            super().start_application_mode()  # type: ignore[no-untyped-call]
            with suppress(termios.error):
                self._attributes = termios.tcgetattr(self.fileno)

    def stop_application_mode(self) -> None:
        self._wanted = False
        # The framework may have asked for the mouse in pixels, and would leave it so.
        self.write("\x1b[?1016l")
        super().stop_application_mode()
        self.attrs_before = None

    @property
    def _has_terminal(self) -> bool:
        return self.attrs_before is not None

    # Stopped and continued.

    def _answer_stop(self, *_: object) -> None:
        self._soon(self._stop)

    def _stop(self) -> None:
        if self._has_terminal:
            self.suspend_application_mode()
            self._wanted = True
        os.kill(os.getpid(), signal.SIGSTOP)

    def _answer_continue(self, *_: object) -> None:
        if self._wanted and not self._has_terminal:
            # Here the program waits in `_stop` or in `start_application_mode`, and writes nothing.
            self.resume_application_mode()
        self._soon(self._go_on)

    def _go_on(self) -> None:
        """Set the terminal as it was before the stop, and have the screen painted anew."""
        if self._has_terminal and self._attributes is not None:
            with suppress(termios.error):
                termios.tcsetattr(self.fileno, termios.TCSANOW, self._attributes)
            self.write(_MODES)
            self.send_message(self.SignalResume())

    def _soon(self, do: Callable[[], None]) -> None:
        """Do it in the loop, which is never in the midst of a write."""
        if not self._events.is_closed():
            self._events.call_soon_threadsafe(do)

    # The thread that reads.

    def run_input_thread(self) -> None:
        """Read until the program ends; what goes wrong meanwhile is the app's to tell."""
        try:
            self._read_on()
        except Exception as error:
            self.send_message(InputFailed(error))

    def _read_on(self) -> None:
        reader = InputReader()
        # Not the best selector of the system: that of macOS does not know terminals.
        with selectors.SelectSelector() as selector:
            selector.register(self.fileno, selectors.EVENT_READ)
            while not self.exit_event.is_set():
                if selector.select(_LOOK_S):
                    for message in reader.feed(self._read()):
                        self.process_message(message)
                for message in reader.tick():
                    self.process_message(message)

    def _read(self) -> bytes:
        """What the terminal has; nothing where it hung up."""
        try:
            data = os.read(self.fileno, _MOST_BYTES)
        except OSError as error:
            if error.errno != errno.EIO:
                raise
            data = b""
        if not data:
            self.exit_event.wait(_HUNG_UP_S)
        return data
