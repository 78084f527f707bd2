"""A terminal driver that does not stand still when its terminal is gone.

The framework writes from a thread of its own, through a queue of thirty entries. When a window is
closed the first write fails, that thread dies, and the program waits for ever to put one more entry
into the full queue: it neither saves nor ends.
"""

from __future__ import annotations

import sys
from typing import IO, Any, cast

from textual.driver import Driver


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
    """The driver class with lasting output; one that does not write to a terminal file as it is."""
    if driver_class.__name__ != "LinuxDriver":
        return driver_class

    class LastingDriver(driver_class):  # type: ignore[valid-type, misc]
        def __init__(self, *args: Any, **kwargs: Any) -> None:
            super().__init__(*args, **kwargs)
            own = cast("Any", self)
            # The framework draws on standard error, which may be closed or lead into a file.
            own._file = LastingOutput(cast("IO[str]", sys.__stdout__))

    return LastingDriver
