"""All tests of the screen, to go straight to any of them."""

from __future__ import annotations

from collections.abc import Sequence
from string import ascii_lowercase

from screen_tui.protocol.model import ScreenProtocol
from screen_tui.trial.battery import Item, ItemState
from screen_tui.tui.drawing.rows import Choice
from screen_tui.tui.drawing.words import test_name
from screen_tui.tui.screens.lines import LinesPage

# Without b, which goes back.
_KEYS = "123456789" + ascii_lowercase.replace("b", "")


class JumpPage(LinesPage[Item | None]):
    """Lists the tests with how far each is; it is dismissed with the one that was chosen.

    Args:
        protocol: Gives the names.
        states: The tests.
        here: The test at hand.
    """

    CHOOSE = "go there"

    def __init__(self, protocol: ScreenProtocol, states: Sequence[ItemState], here: Item) -> None:
        at = next((place for place, one in enumerate(states) if one.item == here), 0)
        super().__init__("All tests", at)
        self.protocol = protocol
        self.states = states

    def lines(self) -> Sequence[Choice]:
        keys = iter(_KEYS)
        return tuple(
            Choice(
                "",
                next(keys, ""),
                f"{test_name(self.protocol, one.item.test, one.item.side)}: {_state(one)}",
            )
            for one in self.states
        )

    def choose(self) -> None:
        self.dismiss(self.states[self.at].item)


def _state(one: ItemState) -> str:
    if one.state == "done":
        return f"done, {one.trials_done} trial{'' if one.trials_done == 1 else 's'}"
    if one.state == "todo":
        return "to do"
    if one.state == "asked":
        return one.reason
    return f"{one.state}: {one.reason}"
