"""The list of preferences: each with its value, the chosen one explained below."""

from __future__ import annotations

from pathlib import Path

from screen_tui.preferences import NAMES, Preferences, about
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    cells,
    clipped,
    paragraph,
    pressing,
    row,
    rule,
)

_LABELS = {
    "bell": "Bell",
    "flash": "Flash",
    "last_values": "Last values",
    "count_in_s": "Count-in",
    "layout": "Layout",
    "theme": "Theme",
    "protocol": "Protocol",
    "protocols": "Own folders",
}
_TO_VALUE = 22
_MOST_FOLDERS = 3


def label(name: str) -> str:
    """What a preference is called on the screen."""
    return _LABELS[name]


def value_words(preferences: Preferences, name: str) -> str:
    """The value of a preference in words."""
    value = getattr(preferences, name)
    if isinstance(value, bool):
        return "on" if value else "off"
    if name == "count_in_s":
        return f"{value} s" if value else "none"
    if isinstance(value, tuple):
        return "none" if not value else f"{len(value)} folder{'s' if len(value) > 1 else ''}"
    return str(value)


def draw_preferences(
    preferences: Preferences, at: int, path: Path, width: int
) -> tuple[list[Row], tuple[int, int]]:
    """Draw the list.

    Args:
        preferences: What holds.
        at: The place of the chosen preference.
        path: The file they are kept in.
        width: Columns there are.

    Returns:
        The rows, and the first and last that must be in sight: the chosen line with what
        explains it.
    """
    rows: list[Row] = []
    for index, name in enumerate(NAMES):
        key = str(index + 1)
        rows += pressing([_line(preferences, name, key, width, chosen=index == at)], key)
    name = NAMES[at]
    rows += [BLANK, rule(width, label(name))]
    rows += paragraph(about(name), width)
    rows += _folders(preferences.protocols, width) if name == "protocols" else []
    last = len(rows) - 1
    rows += [BLANK, *paragraph(f"Kept in {path} under {name}.", width, "quiet")]
    return rows, (at, last)


def _line(preferences: Preferences, name: str, key: str, width: int, *, chosen: bool) -> Row:
    dots = "." * (_TO_VALUE - cells(label(name)) - 1)
    head = row(Span("> " if chosen else "  ", "first"), Span(f" {key} ", "key"), " ")
    text = f"{label(name)} {dots} {value_words(preferences, name)}"
    # The head takes six columns.
    return (*head, Span(clipped(text, width - 6), "cursor" if chosen else "plain"))


def _folders(folders: tuple[str, ...], width: int) -> list[Row]:
    rows = [row("- ", clipped(folder, width - 2)) for folder in folders[:_MOST_FOLDERS]]
    more = len(folders) - len(rows)
    return [*rows, *([row(f"- and {more} more")] if more else [])]
