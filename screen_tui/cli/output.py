"""Where a command puts what it wrote: standard output, or a new file only its owner may read."""

from __future__ import annotations

import argparse
import json
import stat
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from screen_tui.cli.arguments import STANDARD
from screen_tui.errors import NotFoundError, SaveFailedError
from screen_tui.files.text import tell
from screen_tui.files.write import write_new, write_whole
from screen_tui.report.machine import SCHEMA_VERSION


def print_json(data: Mapping[str, Any], *, versioned: bool = False) -> None:
    """Print data for another program, with the version of its schema in front where it is asked."""
    data = {"schema_version": SCHEMA_VERSION, **data} if versioned else data
    sys.stdout.write(json.dumps(data, indent=2, allow_nan=False) + "\n")


def put(
    content: bytes, arguments: argparse.Namespace, what: str, sources: Sequence[str | Path] = ()
) -> None:
    """Write to the file that was named, or to standard output, whatever encoding that has.

    A replaced file is whole at every moment.

    Args:
        sources: The files that were read, which are never replaced.

    Raises:
        NotFoundError: The folder does not exist.
        SaveFailedError: Something is there and may not be replaced, or the disk said no; an
            earlier file is as it was.
        OSError: As for any output, such as a pipe whose reader has left.
    """
    if arguments.output == STANDARD:
        sys.stdout.flush()
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
        return
    target = Path(arguments.output)
    _refuse_to_replace(target, sources, arguments.force, what)
    try:
        (write_whole if arguments.force else write_new)(target, content)
    except (FileNotFoundError, NotADirectoryError):
        raise NotFoundError(f"There is no folder {target.parent} for {what}.") from None
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise SaveFailedError(
            f"{what[0].upper()}{what[1:]} cannot be written to {target}: {reason}."
        ) from None
    tell(f"screen-tui: {what} is in {target}.")


def _refuse_to_replace(target: Path, sources: Sequence[str | Path], force: bool, what: str) -> None:
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
