"""Where a command puts what it wrote: standard output, or a new file only its owner may read."""

from __future__ import annotations

import stat
import sys
from collections.abc import Iterable
from pathlib import Path

from screen_tui.errors import NotFoundError, SaveFailedError
from screen_tui.files.write import write_new, write_whole

STANDARD = "-"
"""Stands for standard input or output where a file is asked for."""


def refuse_to_replace(
    target: Path, sources: Iterable[str | Path], *, force: bool, what: str
) -> None:
    """Refuse a place that would cost something that is there.

    Args:
        target: Where to write.
        sources: The files that were read; ``-`` stands for standard input.
        force: Whether an ordinary file may be replaced.
        what: What is to be written, such as ``the note``.

    Raises:
        SaveFailedError: Something stands there and may not be replaced.
    """
    if not target.exists():
        return
    if any(source != STANDARD and target.samefile(source) for source in sources):
        raise SaveFailedError(
            f"{target} is the session itself; {what} needs another name. Nothing was written."
        )
    if not stat.S_ISREG(target.stat().st_mode):
        raise SaveFailedError(f"{target} is not an ordinary file, so nothing was written there.")
    if not force:
        raise SaveFailedError(
            f"{target} is there already and was left as it is. Add --force to replace it."
        )


def write_file(target: Path, content: bytes, *, replace: bool, what: str) -> None:
    """Write a file that only its owner may read; a replaced one is whole at every moment.

    Raises:
        NotFoundError: Its folder does not exist.
        SaveFailedError: The disk said no; an earlier file is as it was.
    """
    try:
        if replace:
            write_whole(target, content)
        else:
            write_new(target, content)
    except (FileNotFoundError, NotADirectoryError):
        raise NotFoundError(f"There is no folder {target.parent} for {what}.") from None
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise SaveFailedError(
            f"{what[0].upper()}{what[1:]} cannot be written to {target}: {reason}."
        ) from None


def write_out(content: bytes) -> None:
    """Write bytes to standard output as they are, whatever encoding the terminal has.

    Raises:
        OSError: As for any output, such as a pipe whose reader has left.
    """
    sys.stdout.flush()
    sys.stdout.buffer.write(content)
    sys.stdout.buffer.flush()
