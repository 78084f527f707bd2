"""The program on a disk that takes its time: run it as a script in place of the command."""

from __future__ import annotations

import os
import sys
import time

SYNC_S = 0.3
"""What a full or worn memory stick takes to write a small file for good (from memory)."""


def slow_down() -> None:
    """Have whatever is written for good take that long."""
    really_sync = os.fsync

    def sync(handle: int) -> None:
        time.sleep(SYNC_S)
        really_sync(handle)

    os.fsync = sync


if __name__ == "__main__":
    slow_down()
    from screen_tui.cli.main import main

    sys.exit(main())
