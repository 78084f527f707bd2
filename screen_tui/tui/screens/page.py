"""What all screens do with keys and clicks; what they look like is `paper`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar, Generic

from textual import events
from textual.screen import ScreenResultType

from screen_tui.tui.drawing.rows import Row, Span, row
from screen_tui.tui.keybar import KeyHint, lay_out, rows_of
from screen_tui.tui.keynames import key_name, key_pressed
from screen_tui.tui.screens.paper import Drawn, Paper

__all__ = ["Drawn", "Page", "page_head"]

MORE_KEY = "k"
"""Lists all keys, where the line of keys has no room for them."""
STOP_KEY = "!"
"""Stops the whole screen for safety, from wherever one is."""


class Page(Paper[ScreenResultType], Generic[ScreenResultType]):
    """A screen of the program. Subclasses draw and take keys.

    Keys go to `take_key` first; what it does not take may stop the whole screen, list the keys, or
    scroll the body. A click presses the key that what is drawn there stands for.
    """

    STOPPABLE: ClassVar[bool] = True
    """Whether the whole screen can be stopped for safety from here."""

    # What a subclass fills in.

    def hints(self) -> Sequence[KeyHint]:
        """The keys that do something now."""
        return ()

    def take_key(self, key: str, event: events.Key) -> bool:
        """Do what a key means here; False when it means nothing."""
        del key, event
        return False

    @property
    def typing_now(self) -> bool:
        """Whether words are typed now, so that every key is a character."""
        return False

    def take_press(self, press: str, when: float) -> None:
        """Do what a click stands for: a press of the key of that name, at the time of the click."""
        self.on_key(key_pressed(press, when))

    # What is the same everywhere.

    def on_key(self, event: events.Key) -> None:
        """Hand a key on; see `take_key`."""
        if not self.host.takes_key(self, event.time):
            return
        self.host.last_key = (key_name(event), event.time)
        key = key_name(event)
        taken = (
            self.take_key(key, event) or self._stop(key) or self._list_keys(key) or self.scroll(key)
        )
        if taken:
            event.stop()
            event.prevent_default()
            if self.is_current:
                self.redraw()

    def key_lines(self, width: int) -> Sequence[Row]:
        """The keys that do something now."""
        return rows_of(self._laid_out(self._all_hints(), width))

    def _forward_event(self, event: events.Event) -> None:
        # What reaches a handler of the mouse is a copy that has lost the time it was read at.
        if isinstance(event, events.MouseDown) and not event.is_forwarded:
            self._click(event.screen_x, event.screen_y, event.time)
        super()._forward_event(event)

    def _click(self, column: int, line: int, when: float) -> None:
        """Press the key that what is drawn there stands for."""
        press = self.press_under(column, line)
        if press:
            self.take_press(press, when)

    def _stop(self, key: str) -> bool:
        """Ask about stopping the whole screen, which one key does from everywhere."""
        if key != STOP_KEY or not self._stoppable:
            return False
        self.host.ask_to_stop()
        return True

    @property
    def _stoppable(self) -> bool:
        return self.STOPPABLE and not self.typing_now and self.host.keeper.stoppable

    def _all_hints(self) -> tuple[KeyHint, ...]:
        own = self.hints()
        return (*own, *self._stop_hints(own), *self._scroll_hints())

    def _laid_out(self, hints: tuple[KeyHint, ...], width: int) -> tuple[tuple[KeyHint, ...], ...]:
        """The hints that fit; where there is no room for all, with the key that lists them."""
        lines = lay_out(hints, width)
        if _all_fit(hints, lines) or not self.lists_keys:
            return lines
        return lay_out((*hints, KeyHint(MORE_KEY, "more", 0)), width)

    @property
    def lists_keys(self) -> bool:
        """Whether all keys may be listed on a page of their own now."""
        return not self.typing_now

    def _list_keys(self, key: str) -> bool:
        """List all keys, where not all of them can be shown."""
        if key != MORE_KEY or not self.lists_keys:
            return False
        hints = self._all_hints()
        if _all_fit(hints, lay_out(hints, self.size.width - 2)):
            return False
        self.host.list_keys(hints, self._press_chosen)
        return True

    def _press_chosen(self, press: str | None) -> None:
        if press is not None:
            self.take_press(press, self.host.clock.monotonic())

    def _stop_hints(self, own: Sequence[KeyHint]) -> Sequence[KeyHint]:
        told = any(hint.key == STOP_KEY for hint in own)
        return (KeyHint(STOP_KEY, "stop all", 5),) if self._stoppable and not told else ()

    def _scroll_hints(self) -> Sequence[KeyHint]:
        return (KeyHint("↑↓ Space", "scroll", 6),) if self.scrolls else ()


def _all_fit(hints: Sequence[KeyHint], lines: Sequence[Sequence[KeyHint]]) -> bool:
    return sum(len(line) for line in lines) == len(hints)


def page_head(title: str, *right: str) -> tuple[Row, Row]:
    """A head with a title at the left and details at the right."""
    return row(Span(title, "first")), row(Span("  ".join(part for part in right if part), "quiet"))
