"""The look: four colour modes of one calm design, and which of them a terminal is given.

Two accents, a water blue and a heather, underline what position, weight and words already say.
There is no red, yellow or green: nothing here is a traffic light.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from textual.theme import BUILTIN_THEMES, Theme

from screen_tui.preferences import ThemeWish

ColourMode = Literal["dark", "light", "high-contrast", "monochrome"]
"""``monochrome`` leaves all colours to the terminal and is complete without any."""


def _look(
    mode: ColourMode,
    *,
    first: str,
    second: str,
    quiet: str,
    ink: str,
    paper: str,
    raised: str,
    dark: bool,
    ansi: bool = False,
) -> Theme:
    return Theme(
        name=theme_name(mode),
        primary=first,
        secondary=second,
        accent=second,
        warning=second,
        error=second,
        success=first,
        foreground=ink,
        background=paper,
        surface=paper,
        panel=raised,
        dark=dark,
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


THEMES: tuple[Theme, ...] = (
    _look(
        "dark",
        first="#8fb8d8",
        second="#c9a8d4",
        quiet="#93a1ad",
        ink="#e4e8ec",
        paper="#14191f",
        raised="#1f2730",
        dark=True,
    ),
    _look(
        "light",
        first="#1f567f",
        second="#74427f",
        quiet="#56626c",
        ink="#1b2127",
        paper="#f4f3ef",
        raised="#e4e3dd",
        dark=False,
    ),
    _look(
        "high-contrast",
        first="#7fd0ff",
        second="#f0b8ff",
        quiet="#ffffff",
        ink="#ffffff",
        paper="#000000",
        raised="#000000",
        dark=True,
    ),
    _look(
        "monochrome",
        first="ansi_default",
        second="ansi_default",
        quiet="ansi_default",
        ink="ansi_default",
        paper="ansi_default",
        raised="ansi_default",
        dark=True,
        ansi=True,
    ),
)


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
