"""Lists to choose one line from: the base of them, all keys of a screen, and all tests."""

from __future__ import annotations

from collections.abc import Sequence
from string import ascii_lowercase
from typing import Generic

from textual import events
from textual.screen import ScreenResultType

from screen_tui.trial.battery import Item, ItemState
from screen_tui.tui.drawing.rows import LINE, Choice, draw_lines
from screen_tui.tui.drawing.words import test_name
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn


class ListScreen(BaseScreen[ScreenResultType], Generic[ScreenResultType]):
    """Moves a mark over lines; subclasses say what choosing one does.

    Args:
        title: For the head of the screen.
        at: The place of the line that is marked first.
    """

    ANY_SIZE = True
    CHOOSE = "choose"
    """What Enter does, for the line of keys."""

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
            KeyHint("Enter", self.CHOOSE, 0),
            KeyHint("↑↓", "move", 1),
            KeyHint("b", "back", 0, self.go_back),
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
        if lines and (step := move_of(key)):
            self.at = (self.at + step) % len(lines)
        elif key == "enter" and lines:
            self.choose()
        elif key and key in keys:
            self.at = keys.index(key)
            self.choose()
        else:
            return super().take_key(key, event)
        return True


def move_of(key: str) -> int:
    """How far a key moves a mark over a list, 0 for another key."""
    return {"up": -1, "shift+tab": -1, "down": 1, "tab": 1}.get(key, 0)


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
        # What has a longer name than one letter is chosen by moving to it, and so is b.
        return tuple(
            Choice("", hint.key, hint.does)
            if len(hint.key) == 1 and hint.key != "b"
            else Choice("", "", f"{hint.does} ({hint.key})")
            for hint in self._hints
        )

    def choose(self) -> None:
        self.dismiss(self._hints[self.at].press)


# Without b, which goes back.
_KEYS = "123456789" + ascii_lowercase.replace("b", "")


class JumpScreen(ListScreen[Item | None]):
    """Lists the tests with how far each is; it is dismissed with the one that was chosen."""

    CHOOSE = "go there"

    def __init__(self, states: Sequence[ItemState], here: Item) -> None:
        at = next((place for place, one in enumerate(states) if one.item == here), 0)
        super().__init__("All tests", at)
        self.states = states

    def lines(self) -> Sequence[Choice]:
        keys = iter(_KEYS)
        names = [test_name(self.host.protocol, one.item.test, one.item.side) for one in self.states]
        return tuple(
            Choice("", next(keys, ""), f"{name}: {_how_far(one)}")
            for name, one in zip(names, self.states, strict=True)
        )

    def choose(self) -> None:
        self.dismiss(self.states[self.at].item)


def _how_far(one: ItemState) -> str:
    if one.state == "done":
        return f"done, {one.trials_done} trial{'' if one.trials_done == 1 else 's'}"
    if one.state == "todo":
        return "to do"
    if one.state == "asked":
        return one.reason
    return f"{one.state.replace('-', ' ')}: {one.reason}"
