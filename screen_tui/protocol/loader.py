"""From folders of TOML files to one checked protocol."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from screen_tui.protocol.whole import Protocol

DEFAULT_BATTERY = "knee-quick-screen"


def load_protocol(folders: Sequence[Path], battery: str = DEFAULT_BATTERY) -> Protocol:
    """Load a battery and everything it refers to.

    Args:
        folders: Read in order. A later one, a clinic's own, may be partial; it adds to the
            earlier ones and replaces what has the same id.
        battery: The id of the battery, which is its file's name.

    Raises:
        NotFoundError: A folder or the battery does not exist.
        FileRefusedError: With all problems of all files.
    """
    raise NotImplementedError
