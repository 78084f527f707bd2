"""An app that paints its first page before it reads what it works with.

Reading means importing the models and the other pages, which takes longer than the first page does.
Keys pressed meanwhile wait, and reach the pages in their order.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import TYPE_CHECKING

from textual import events
from textual.app import App
from textual.screen import Screen

if TYPE_CHECKING:
    from screen_tui.opening import Opened

_BETWEEN_KEYS_S = 0.03
"""Between keys that had to wait, so that each reaches the page its forerunner led to."""


class PaintsFirst(App[None], inherit_bindings=False):
    """Paints, then reads, then lets the keys through.

    Args:
        load: Gives what the program works with.
        ansi_color: Whether colours are left to the terminal.

    Attributes:
        is_open: Whether everything is read that the program works with.
        refusal: Why it could not be, to be told on the command line; or None.
    """

    def __init__(self, load: Callable[[], Opened], *, ansi_color: bool) -> None:
        super().__init__(ansi_color=ansi_color)
        self.is_open = False
        self.refusal: Exception | None = None
        self._load = load
        self._early: deque[events.Key] | None = deque()

    def take_up(self, opened: Opened) -> None:
        """Begin to work with what was read, and show the page that follows the first one."""
        raise NotImplementedError

    def paint_then_open(self, page: Screen[None]) -> None:
        """Show a page that needs nothing, and read the rest once it stands there."""
        self.push_screen(page)
        self.call_after_refresh(self._open)

    def _open(self) -> None:
        try:
            self.take_up(self._load())
        except Exception as error:
            # The command line tells it, as it tells what stops a command.
            self.refusal = error
            self.exit(return_code=1)
            return
        self.is_open = True
        self.set_timer(_BETWEEN_KEYS_S, self._hand_on)

    async def on_event(self, event: events.Event) -> None:
        """Take what happens; keys wait until the page they are meant for is there."""
        if self._early is not None and isinstance(event, events.Key):
            self._early.append(event)
            return
        await super().on_event(event)

    async def _hand_on(self) -> None:
        """Hand on the next key that waits; after the last one keys go where they always go."""
        if not self._early:
            self._early = None
            return
        await super().on_event(self._early.popleft())
        self.set_timer(_BETWEEN_KEYS_S, self._hand_on)
