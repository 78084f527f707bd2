"""Which driver of the framework is used, and what is dropped where a terminal is gone.

The framework writes from a thread of its own, through a queue of thirty entries. When a window is
closed the first write fails, that thread dies, and the program waits for ever to put one more entry
into the full queue: it neither saves nor ends.
"""

from __future__ import annotations

from typing import IO

from textual.driver import Driver
from textual.message import Message


class InputFailed(Message):
    """Nothing is read from the terminal any more.

    Args:
        error: What went wrong.
    """

    def __init__(self, error: Exception) -> None:
        super().__init__()
        self.error = error


class LastingOutput:
    """The terminal as a file; what can no longer be written is dropped.

    Args:
        file: The file of the terminal.
    """

    def __init__(self, file: IO[str]) -> None:
        self._file = file

    def write(self, text: str) -> None:
        """Write, or drop the text when nobody is there to read it."""
        try:
            self._file.write(text)
        except OSError:
            return

    def flush(self) -> None:
        """Flush, or drop what is left."""
        try:
            self._file.flush()
        except OSError:
            return

    def fileno(self) -> int:
        """The file handle."""
        return self._file.fileno()


def lasting(driver_class: type[Driver]) -> type[Driver]:
    """The driver class that lasts; one that does not write to a terminal file as it is."""
    if driver_class.__name__ != "LinuxDriver":
        return driver_class
    # Imported here, since it needs what only such systems have.
    from screen_tui.tui.lasting_driver import LastingDriver

    return LastingDriver
