"""Writing patient data: whole at every moment, on disk at the end, readable by its owner."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import stat
import tempfile
import time
from collections.abc import Collection
from pathlib import Path

from screen_tui.errors import SaveFailedError

# On Windows a virus scanner or a sync program may hold a file for a moment.
_REPLACE_ATTEMPTS = 4 if os.name == "nt" else 1
_REPLACE_PAUSE_S = 0.05


def write_whole(target: Path, content: bytes) -> None:
    """Replace a file by new contents, so that at every moment the old or the new one is whole.

    Its folder exists; the file can be read by its owner alone.

    Raises:
        OSError: The disk refused; an earlier file is as it was, unless the very last step failed:
            then the new one is in place, and may be lost if the power fails at once.
    """
    descriptor, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.stem}-", suffix=".tmp")
    temporary = Path(name)
    try:
        _pour(content, descriptor)
        _replace(temporary, target)
    except BaseException:
        _remove(temporary)
        raise
    if os.name == "posix":
        _sync_folder(target.parent)


def write_new(target: Path, content: bytes) -> None:
    """Write a file that must not be there yet, and that its owner alone can read.

    Raises:
        FileExistsError: Something is there; it is left as it is.
        OSError: The disk refused; no file is left.
    """
    descriptor = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        _pour(content, descriptor)
    except BaseException:
        _remove(target)
        raise


def write_text(typed: str, text: str, usual: Path) -> Path:
    """Write a text where somebody asked for it, so that the file is either whole or not there.

    Args:
        typed: The file, as it was typed; ``~`` is the person's home. Its folder may be missing.
        usual: The only place where an earlier file is replaced.

    Raises:
        SaveFailedError: The disk refused, a file is there that must not be replaced, or the
            path begins with the home of somebody who is not known here.
    """
    try:
        path = Path(typed).expanduser()
    except RuntimeError:
        name = Path(typed).parts[0]
        raise SaveFailedError(f"{name} names nobody on this computer. Type a whole path.") from None
    try:
        if path.exists() and path != usual:
            raise SaveFailedError(
                f"{path} is there already and is left as it is. Type another name."
            )
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_whole(path, text.encode())
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise SaveFailedError(
            f"It could not be written: {reason}. Type another place than {path}."
        ) from error
    return path


def keep_as(source: Path, target: Path) -> bool:
    """Give what a file holds now a second name in its folder, as the first is written again.

    Returns:
        False when something else is there already; True when it holds the same.

    Raises:
        OSError: The disk refused; no second name is left.
    """
    try:
        os.link(source, target)
    except FileExistsError:
        return not changed_since(target, {hashlib.sha256(source.read_bytes()).hexdigest()})
    except OSError:
        # A stick formatted for Windows knows no second name of a file.
        write_new(target, source.read_bytes())
    return True


def _pour(content: bytes, descriptor: int) -> None:
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _remove(path: Path) -> None:
    """Remove what was half written; where that fails, too, the first failure is the one to tell."""
    with contextlib.suppress(OSError):
        path.unlink()


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
    if error.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}:
        return "the disk is full", "Make room on it and save again"
    if error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
        return "you may not write there", "Save again in another folder"
    if error.errno in {errno.ENOTDIR, errno.EEXIST}:
        return "a file is where a folder is needed", "Save again in another folder"
    if error.errno in {errno.ENODEV, errno.ENXIO, errno.ESTALE}:
        return (
            "it is gone, and its disk too",
            "Put the stick or disk back and save again, or save in another folder",
        )
    if error.errno == errno.EIO:
        return (
            "the disk reports a fault",
            "Save again, or save in another folder on another disk",
        )
    return f"{error.strerror or error}", "Save again, or save in another folder"


def changed_since(path: Path, digests: Collection[str]) -> bool:
    """Whether something is there that is not a file of ours as we last knew it.

    Links, folders and pipes are not ours, and are not opened to find that out. Nothing there counts
    as unchanged. ``digests`` are SHA-256, in hexadecimal, of the contents known to be ours.
    """
    try:
        if not stat.S_ISREG(path.lstat().st_mode):
            return True
        content = path.read_bytes()
    except FileNotFoundError:
        return False
    except OSError:
        return True
    return hashlib.sha256(content).hexdigest() not in digests
