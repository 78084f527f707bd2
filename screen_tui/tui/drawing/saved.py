"""What to say about where a session was saved."""

from __future__ import annotations

import shlex
from pathlib import Path

from screen_tui.session.model import Session
from screen_tui.session.store import Saved


def how_shown(session: Session, *, read_only: bool) -> str:
    """Say of a session that it is nobody's, and that nothing of it can change."""
    marks = ["INVENTED"] if session.synthetic else []
    return ", ".join([*marks, "read-only"] if read_only else marks)


def what_became(saved: Saved) -> str:
    """Say what was out of the ordinary; empty when nothing was."""
    said = []
    if saved.kept_beside is not None:
        said.append(
            f"{saved.kept_beside.name} was changed by another program and is left as it is; "
            f"this session goes on in {saved.path.name}."
        )
    if saved.kept_original is not None:
        said.append(
            "This session came from an earlier version of the program; its file as it was is "
            f"kept as {saved.kept_original.name}."
        )
    if saved.folder_made_again:
        said.append(
            f"The folder {saved.path.parent} was gone. It was made again and holds this session; "
            "what else lay in it is not there."
        )
    return " ".join(said)


def moved_to(folder: Path) -> str:
    """Say where sessions are from now on, and how to find them again; short, as paths are long."""
    return (
        "All is saved in the other folder from now on. To open it later: "
        f"screen-tui --sessions {shlex.quote(str(folder))} (in the first one all is older)"
    )
