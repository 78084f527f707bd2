"""Where things lie: what comes with the program, saved sessions, and a person's preferences.

What a person has lies in ``$SCREEN_TUI_HOME`` where that is set, and otherwise where the system
keeps a person's data and configuration; none of it need exist. Each place of it raises
NotFoundError where it is to lie in the home of somebody who is not known here, or has none, and
each place of what comes with the program where that is missing.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from pathlib import Path

import platformdirs

import screen_tui
from screen_tui.errors import NotFoundError

HOME_VARIABLE = "SCREEN_TUI_HOME"
"""Environment variable naming the folder of sessions and preferences: a stick, or a test's own."""

PREFERENCES_NAME = "preferences.toml"


def protocols_folder() -> Path:
    """The folder with the protocols that come with the program."""
    return _shipped("_protocols", "protocols")


def demo_folder() -> Path:
    """The folder with the invented sessions that come with the program."""
    return _shipped("_demo_sessions", "demo_sessions")


def practice_cases_folder() -> Path:
    """The folder with the simulated patients that come with the program; it may be missing."""
    return demo_folder() / "practice"


def sessions_folder(override: Path | None = None) -> Path:
    """The folder of the saved sessions; one asked for by name wins."""
    if override is not None:
        return _at_home(override)
    return _own(platformdirs.user_data_path) / "sessions"


def data_folder(override: Path | None = None) -> Path:
    """The folder for what is no session; ``override`` is the folder of sessions asked for.

    It is the one around the usual folder of sessions, but another folder of sessions itself: what
    is around that may be anybody's.
    """
    sessions = sessions_folder(override)
    with contextlib.suppress(NotFoundError):
        if sessions == sessions_folder():
            return sessions.parent
    return sessions


def practice_runs_folder(override: Path | None = None) -> Path:
    """The folder of the practice runs, apart from every session."""
    return data_folder(override) / "practice"


def own_cases_folder(override: Path | None = None) -> Path:
    """The folder for the practice cases of an instructor, within that of the runs."""
    return practice_runs_folder(override) / "cases"


def preferences_file() -> Path:
    """The file of a person's preferences."""
    return _own(platformdirs.user_config_path) / PREFERENCES_NAME


def _own(place: Callable[..., Path]) -> Path:
    home = os.environ.get(HOME_VARIABLE)
    if home:
        return _at_home(Path(home))
    found: Path | None = None
    with contextlib.suppress(RuntimeError):
        found = place("screen-tui", appauthor=False)
    # A home that is not known may also come as the sign ~, which names a folder like any other.
    if found is None or not found.is_absolute():
        raise NotFoundError(
            "There is no home folder of yours to save sessions and preferences in. Name a folder "
            f"for them in {HOME_VARIABLE}, or your home in HOME."
        )
    return found


def _at_home(path: Path) -> Path:
    try:
        return path.expanduser()
    except RuntimeError:
        raise NotFoundError(
            f"There is no folder {path}: {path.parts[0]} names nobody on this computer."
        ) from None


def _shipped(inside: str, beside: str) -> Path:
    # The package is asked for its own folder, never the installation: installing a checkout in
    # place leaves a copy among the installed packages that no longer follows the files.
    package = Path(screen_tui.__file__).resolve().parent
    candidates = (package / inside, package.parent / beside)
    for candidate in candidates:
        if candidate.is_dir():
            return candidate
    raise NotFoundError(
        f"The program is not completely installed: its folder {beside} is neither "
        f"{candidates[0]} nor {candidates[1]}. Install it again."
    )
