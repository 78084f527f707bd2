"""What the note and the screen both tell, before either gives it a form."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing to tell.

    Attributes:
        label: What it is about; empty where the text stands alone.
        text: What there is to say, in words and numbers with their units.
        source: The id of the source the text rests on; None where it needs none.
    """

    label: str
    text: str
    source: str | None = None
