"""Where things lie: what comes with the program, saved sessions, and a person's preferences."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

import screen_tui
from screen_tui.errors import NotFoundError

HOME_VARIABLE = "SCREEN_TUI_HOME"
"""Environment variable naming the folder of sessions and preferences: a stick, or a test's own."""

PREFERENCES_NAME = "preferences.toml"


def protocols_folder() -> Path:
    """The folder with the protocols that come with the program.

    Raises:
        NotFoundError: It is in neither of its two places.
    """
    return _shipped("_protocols", "protocols")


def demo_folder() -> Path:
    """The folder with the invented sessions that come with the program.

    Raises:
        NotFoundError: It is in neither of its two places.
    """
    return _shipped("_demo_sessions", "demo_sessions")


def sessions_folder(override: Path | None = None) -> Path:
    """The folder of the saved sessions; it need not exist yet.

    Args:
        override: A folder asked for by name, which wins. Otherwise ``$SCREEN_TUI_HOME/sessions``
            when that is set, otherwise the place the system keeps a person's data.
    """
    if override is not None:
        return override.expanduser()
    home = os.environ.get(HOME_VARIABLE)
    if home:
        return Path(home).expanduser() / "sessions"
    return platformdirs.user_data_path("screen-tui", appauthor=False) / "sessions"


def preferences_file() -> Path:
    """The file of a person's preferences; it need not exist.

    ``$SCREEN_TUI_HOME/preferences.toml`` when that is set, otherwise it lies where the system
    keeps a person's configuration.
    """
    home = os.environ.get(HOME_VARIABLE)
    if home:
        return Path(home).expanduser() / PREFERENCES_NAME
    return platformdirs.user_config_path("screen-tui", appauthor=False) / PREFERENCES_NAME


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
