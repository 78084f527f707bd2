"""Writing patient data: whole at every moment, on disk at the end, readable by its owner."""

from __future__ import annotations

import errno
import os
import tempfile
import time
from pathlib import Path

_SYNC_FOLDER = os.name == "posix"
# On Windows a virus scanner or a sync program may hold a file for a moment.
_REPLACE_ATTEMPTS = 4 if os.name == "nt" else 1
_REPLACE_PAUSE_S = 0.05


def write_whole(target: Path, content: bytes) -> None:
    """Replace a file by new contents, so that at every moment the old or the new one is whole.

    Args:
        target: The file; its folder exists. It can be read by its owner alone.
        content: What it is to hold.

    Raises:
        OSError: The disk refused; an earlier file is as it was.
    """
    descriptor, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.stem}-", suffix=".tmp")
    temporary = Path(name)
    try:
        _pour(content, descriptor)
        _replace(temporary, target)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    if _SYNC_FOLDER:
        _sync_folder(target.parent)


def write_new(target: Path, content: bytes) -> None:
    """Write a file that must not be there yet.

    Args:
        target: The file; its folder exists. It can be read by its owner alone.
        content: What it is to hold.

    Raises:
        FileExistsError: Something stands there; it is left as it is.
        OSError: The disk refused; no file is left.
    """
    descriptor = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        _pour(content, descriptor)
    except BaseException:
        target.unlink(missing_ok=True)
        raise


def _pour(content: bytes, descriptor: int) -> None:
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _replace(temporary: Path, target: Path) -> None:
    for attempt in range(1, _REPLACE_ATTEMPTS + 1):
        try:
            temporary.replace(target)
        except PermissionError:
            if attempt == _REPLACE_ATTEMPTS:
                raise
            time.sleep(_REPLACE_PAUSE_S)
        else:
            return


def _sync_folder(folder: Path) -> None:
    """Make the new name last, too; some file systems have no such step and say so."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as error:
        if error.errno not in {errno.EINVAL, errno.ENOTSUP}:
            raise
    finally:
        os.close(descriptor)


def why_refused(error: OSError) -> tuple[str, str]:
    """Say why the disk refused to write, and what to do about it, for a person."""
    if error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return "the disk is full", "Make room on it and save again"
    if error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
        return "you may not write there", "Save again in another folder"
    if error.errno in {errno.ENOTDIR, errno.EEXIST}:
        return "a file stands where a folder is needed", "Save again in another folder"
    return f"{error.strerror or error}", "Save again, or save in another folder"
