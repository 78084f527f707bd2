"""Files of the folder of sessions: told from links and pipes, and from what others wrote there."""

from __future__ import annotations

import contextlib
import hashlib
import stat
from collections.abc import Collection
from pathlib import Path

from screen_tui.errors import FileRefusedError, Problem
from screen_tui.files.toml import TomlDocument, read_toml

_IS_LINK = (
    "is a link to another place, and what is saved here would never reach that place; put a copy "
    "of the file itself here instead"
)


def read_own(path: Path) -> TomlDocument:
    """Read a file that is written again later; a link is refused, since writing follows none.

    Raises:
        NotFoundError: There is nothing at the path.
        FileRefusedError: It is a link, no file, cannot be read, or is not TOML.
    """
    # What may not be looked at is refused below, with the reason.
    with contextlib.suppress(OSError):
        if path.is_symlink():
            raise FileRefusedError((Problem(path, None, "", _IS_LINK),))
    return read_toml(path)


def changed_since(path: Path, digests: Collection[str]) -> bool:
    """Whether something stands there that is not a file of ours as we last knew it.

    Links, folders and pipes are not ours, and are not opened to find that out.

    Args:
        path: Where to look. Nothing there counts as unchanged.
        digests: SHA-256, in hexadecimal, of the contents known to be ours.
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
