"""All keys of a screen, for where the line of keys has no room for them."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.tui.drawing.rows import Choice
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.list import ListScreen


class AllKeysScreen(ListScreen[str | None]):
    """Lists keys and what they do; it is dismissed with the name of the key that was chosen.

    Args:
        hints: The keys; those that name several at once are left out.
    """

    CHOOSE = "do it"

    def __init__(self, hints: Sequence[KeyHint]) -> None:
        super().__init__("All keys here")
        self._hints = [hint for hint in hints if hint.press]

    def lines(self) -> Sequence[Choice]:
        # What has a longer name than one letter is chosen by moving to it.
        return tuple(
            Choice("", hint.key if len(hint.key) == 1 and hint.key != "b" else "", _line(hint))
            for hint in self._hints
        )

    def choose(self) -> None:
        self.dismiss(self._hints[self.at].press)


def _line(hint: KeyHint) -> str:
    return hint.does if len(hint.key) == 1 and hint.key != "b" else f"{hint.does} ({hint.key})"
