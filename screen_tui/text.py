"""Text from people and files: what may pass, and what is refused as dangerous to show."""

from __future__ import annotations

from pydantic import AfterValidator

from screen_tui.characters import first_control_character

__all__ = ["first_control_character", "refuse_control_characters"]


def _refuse(text: str) -> str:
    found = first_control_character(text)
    if found is not None:
        raise ValueError(f"holds the control character {found}; type it again as plain text")
    return text


refuse_control_characters = AfterValidator(_refuse)
