"""How the program looks and behaves while it runs: from what a person prefers and the terminal can.

There are four colour modes of one calm design. Two accents, a water blue and a heather, underline
what position, weight and words already say. There is no red, yellow or green: nothing here is a
traffic light.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from textual.theme import BUILTIN_THEMES, Theme

from screen_tui.preferences import Preferences, ThemeWish

ColourMode = Literal["dark", "light", "high-contrast", "monochrome"]
"""``monochrome`` leaves all colours to the terminal and is complete without any."""

_COLOURS: Mapping[ColourMode, tuple[str, str, str, str, str, str]] = {
    # first accent, second accent, quiet text, text, background, raised background
    "dark": ("#8fb8d8", "#c9a8d4", "#93a1ad", "#e4e8ec", "#14191f", "#1f2730"),
    "light": ("#1f567f", "#74427f", "#56626c", "#1b2127", "#f4f3ef", "#e4e3dd"),
    "high-contrast": ("#7fd0ff", "#f0b8ff", "#ffffff", "#ffffff", "#000000", "#000000"),
    "monochrome": ("ansi_default",) * 6,
}


def _look(mode: ColourMode) -> Theme:
    first, second, quiet, text, background, raised = _COLOURS[mode]
    ansi = leaves_colours_to_terminal(mode)
    return Theme(
        name=theme_name(mode),
        primary=first,
        secondary=second,
        accent=second,
        warning=second,
        error=second,
        success=first,
        foreground=text,
        background=background,
        surface=background,
        panel=raised,
        dark=mode != "light",
        ansi=ansi,
        variables={
            # The framework's own style sheet needs a few more names when colours are left alone.
            **(BUILTIN_THEMES["ansi-dark"].variables if ansi else {}),
            "first-accent": first,
            "second-accent": second,
            "quiet": quiet,
        },
    )


def theme_name(mode: ColourMode) -> str:
    """The name under which the look of a mode is registered."""
    return f"chairside-{mode}"


def choose_colour_mode(asked: ThemeWish, environ: Mapping[str, str]) -> ColourMode:
    """Decide the colour mode before the screen is set up.

    ``NO_COLOR`` outranks what was asked for, so that nobody is shown colour against their wish. A
    terminal that names fewer than 256 colours keeps its own.
    """
    if environ.get("NO_COLOR"):
        return "monochrome"
    if asked != "auto":
        return asked
    if environ.get("COLORTERM", "") in ("truecolor", "24bit") or "256" in environ.get("TERM", ""):
        return "dark"
    return "monochrome"


def leaves_colours_to_terminal(mode: ColourMode) -> bool:
    """Whether the app must be constructed for the terminal's own colours.

    It cannot be changed later: chosen after construction under ``NO_COLOR``, such a look is drawn
    black on black.
    """
    return mode == "monochrome"


THEMES = tuple(_look(mode) for mode in _COLOURS)

LATER = "It holds from the next start."


class Settings(Preferences):
    """How the program is to look and behave: what is preferred, as far as the terminal allows it.

    In ASCII alone are lines and large signs drawn where the terminal has no other letters.
    """

    colour_mode: ColourMode = "dark"
    ascii_only: bool = False


def settings_for(
    preferences: Preferences, environ: Mapping[str, str], *, ascii_only: bool = False
) -> Settings:
    """What a person prefers, as far as their terminal, which the environment names, allows it."""
    mode = choose_colour_mode(preferences.theme, environ)
    return Settings(**preferences.model_dump(), colour_mode=mode, ascii_only=ascii_only)


def settings_after(
    now: Settings, preferences: Preferences, name: str, environ: Mapping[str, str]
) -> tuple[Settings, str]:
    """Take the changed preference of that name into the settings of the running program.

    Returns:
        The settings that hold at once, and a sentence on what does not; empty when all does.
    """
    wanted = settings_for(preferences, environ, ascii_only=now.ascii_only)
    mode = wanted.colour_mode
    if name in ("protocol", "protocols"):
        return now, LATER
    if name != "theme":
        return wanted.model_copy(update={"colour_mode": now.colour_mode}), ""
    if environ.get("NO_COLOR") and preferences.theme not in ("auto", mode):
        return now, "NO_COLOR is set, so it is shown without colour as long as that is so."
    if leaves_colours_to_terminal(mode) != leaves_colours_to_terminal(now.colour_mode):
        return now, LATER
    return wanted, ""
