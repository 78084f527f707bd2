"""Writing a note to a file of its own, readable by its owner alone."""

from __future__ import annotations

from pathlib import Path

from screen_tui.errors import SaveFailedError
from screen_tui.files.write import write_whole


def note_path(typed: str) -> Path:
    """The file that was typed, ``~`` read as the person's home.

    Raises:
        SaveFailedError: It names the home of somebody who is not known here.
    """
    try:
        return Path(typed).expanduser()
    except RuntimeError:
        name = Path(typed).parts[0]
        raise SaveFailedError(f"{name} names nobody on this computer. Type a whole path.") from None


def save_note(path: Path, text: str, *, replace: bool) -> None:
    """Write a note so that the file is either whole or not there.

    Args:
        path: The file; its folder is made if it is missing.
        text: The note.
        replace: Whether an earlier file of that name may be replaced.

    Raises:
        SaveFailedError: The disk refused, or a file stands there that must not be replaced.
    """
    try:
        if path.exists() and not replace:
            raise SaveFailedError(
                f"{path} is there already and is left as it is. Type another name."
            )
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_whole(path, text.encode())
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise SaveFailedError(
            f"The note could not be written: {reason}. Type another place than {path}."
        ) from error
