"""How the program looks and behaves while it runs, from what a person prefers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from screen_tui.preferences import Layout, Preferences
from screen_tui.tui.theme import ColourMode, choose_colour_mode, leaves_colours_to_terminal

LATER = "It holds from the next start."


@dataclass(frozen=True, slots=True)
class Settings:
    """How the program is to look and behave.

    Attributes:
        colour_mode: The look.
        ascii_only: Draw lines and large signs in ASCII.
        count_in_s: Seconds counted down before a trial starts; 0 for none.
        bell: Ring at a start after a count-in, at a target and at an end.
        flash: Mark the number at the same moments.
        layout: ``narrow`` draws one column also in a wide window.
        last_values: Show what was measured last time beside the timer of a re-test.
    """

    colour_mode: ColourMode = "dark"
    ascii_only: bool = False
    count_in_s: float = 0.0
    bell: bool = True
    flash: bool = True
    layout: Layout = "auto"
    last_values: bool = False


def settings_for(
    preferences: Preferences, environ: Mapping[str, str], *, ascii_only: bool = False
) -> Settings:
    """What a person prefers, as far as their terminal allows it.

    Args:
        preferences: What is preferred.
        environ: The environment variables, which tell what the terminal shows.
        ascii_only: Draw lines and large signs in ASCII.
    """
    return Settings(
        colour_mode=choose_colour_mode(preferences.theme, environ),
        ascii_only=ascii_only,
        count_in_s=preferences.count_in_s,
        bell=preferences.bell,
        flash=preferences.flash,
        layout=preferences.layout,
        last_values=preferences.last_values,
    )


def settings_after(
    now: Settings, preferences: Preferences, name: str, environ: Mapping[str, str]
) -> tuple[Settings, str]:
    """Take a changed preference into the settings of the running program.

    Args:
        now: The settings so far.
        preferences: What is preferred, the change included.
        name: The preference that has changed.
        environ: The environment variables.

    Returns:
        The settings that hold at once, and a sentence on what does not; empty when all does.
    """
    wanted = settings_for(preferences, environ, ascii_only=now.ascii_only)
    if name == "theme":
        return _with_look(now, wanted.colour_mode, preferences, environ)
    if name in ("protocol", "protocols"):
        return now, LATER
    return replace(wanted, colour_mode=now.colour_mode), ""


def _with_look(
    now: Settings, mode: ColourMode, preferences: Preferences, environ: Mapping[str, str]
) -> tuple[Settings, str]:
    if environ.get("NO_COLOR") and preferences.theme not in ("auto", mode):
        return now, "NO_COLOR is set, so it is shown without colour as long as that is so."
    if leaves_colours_to_terminal(mode) != leaves_colours_to_terminal(now.colour_mode):
        return now, LATER
    return replace(now, colour_mode=mode), ""
