"""Lists to choose one line from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, repeat
from typing import Generic, TypeVar

from textual import events
from textual.screen import ScreenResultType

from screen_tui.tui.drawing.rows import LINE, Choice, draw_lines
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn

_MOVES = {"up": -1, "shift+tab": -1, "down": 1, "tab": 1}


class ListScreen(BaseScreen[ScreenResultType], Generic[ScreenResultType]):
    """Moves a mark over lines, first ``at`` one; subclasses say what choosing one does."""

    ANY_SIZE = True
    does = "choose"
    """What Enter does, for the line of keys."""
    back: tuple[str, ...] = ()
    """Further keys that go back."""

    def __init__(self, title: str, at: int = 0) -> None:
        super().__init__()
        self.heading = title
        self.at = at

    def lines(self) -> Sequence[Choice]:
        raise NotImplementedError

    def choose(self) -> None:
        raise NotImplementedError

    def draw(self, width: int, height: int) -> Drawn:
        return Drawn(*draw_lines(self.lines(), self.at, width))

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("Enter", self.does, 0),
            KeyHint("↑↓", "move", 1),
            KeyHint("b", "back", 0, self.go_back, also=self.back),
        )

    def take_press(self, press: str, when: float) -> None:
        if press.startswith(LINE):
            clicked = int(press.removeprefix(LINE))
            if clicked != self.at:
                self.at = clicked
                self.redraw()
                return
            press = "enter"
        super().take_press(press, when)

    def take_key(self, key: str, event: events.Key) -> bool:
        lines = self.lines()
        keys = [line.key for line in lines]
        if lines and (step := _MOVES.get(key, 0)):
            # From no line, up leads to the last one.
            self.at = (max(self.at, min(-step, 0)) + step) % len(lines)
        elif key == "enter" and 0 <= self.at < len(lines):
            self.choose()
        elif key and key in keys:
            self.at = keys.index(key)
            self.choose()
        else:
            return super().take_key(key, event)
        return True


Picked = TypeVar("Picked")


def keyed(lines: Iterable[Picked], keys: str = "123456789") -> Iterator[tuple[str, Picked]]:
    """Each line with the key that chooses it; "" for those that no key is left for."""
    return zip(chain(keys, repeat("")), lines, strict=False)


class PickScreen(ListScreen[Picked | None], Generic[Picked]):
    """Lists what can be picked; it is dismissed with what was.

    Args:
        picks: Each line, and what it stands for.
        at: The place of the line that is marked first; -1 for none.
    """

    def __init__(
        self,
        title: str,
        picks: Sequence[tuple[Choice, Picked]],
        at: int = 0,
        does: str = "choose",
        back: tuple[str, ...] = (),
    ) -> None:
        super().__init__(title, at)
        self.picks = picks
        self.does = does
        self.back = back

    def lines(self) -> Sequence[Choice]:
        return [line for line, _ in self.picks]

    def choose(self) -> None:
        self.dismiss(self.picks[self.at][1])
