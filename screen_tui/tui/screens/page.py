"""What all screens do with keys and clicks; what they look like is `paper`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar, Generic

from textual import events
from textual.await_complete import AwaitComplete
from textual.screen import ScreenResultType

from screen_tui.trial.keymap import KEYMAP, Action
from screen_tui.tui.drawing.rows import Row, Span, row
from screen_tui.tui.field import Field
from screen_tui.tui.keybar import KeyHint, lay_out, rows_of
from screen_tui.tui.keynames import key_name, key_pressed
from screen_tui.tui.screens.paper import Drawn, Paper

__all__ = ["Drawn", "Page", "page_head"]

MORE_KEY, STOP_KEY = KEYMAP.key(Action.ALL_KEYS), KEYMAP.key(Action.STOP)
LEAVE_KEYS = KEYMAP.binding(Action.END_PROGRAM).keys


class Page(Paper[ScreenResultType], Generic[ScreenResultType]):
    """A screen of the program. Subclasses draw and take keys.

    Keys go to the field first, where there is one, and then to `take_key`; what neither takes may
    stop the whole screen, list the keys, or scroll the body. A click presses the key that what is
    drawn there stands for.
    """

    STOPPABLE: ClassVar[bool] = True
    """Whether the whole screen can be stopped for safety from here."""
    FILTERS_KEYS: ClassVar[bool] = False
    """Whether a held key counts once here; elsewhere a key acts each time it comes."""

    field: Field | None = None
    """The text that is typed here now; None where keys have other meanings."""

    # What a subclass fills in.

    def hints(self) -> Sequence[KeyHint]:
        """The keys that do something now."""
        return ()

    def take_key(self, key: str, event: events.Key) -> bool:
        """Do what a key means here; False when it means nothing."""
        del key, event
        return False

    def typed(self) -> None:
        """Do what follows when the field has taken a key or a paste."""

    def take_press(self, press: str, when: float) -> None:
        """Do what a click stands for: a press of the key of that name, at the time of the click."""
        self.on_key(key_pressed(press, when))

    # What is the same everywhere.

    @property
    def typing_now(self) -> bool:
        """Whether words are typed now, so that every key is a character."""
        return self.field is not None and not self.field.allowed

    @property
    def said_of_typing(self) -> str:
        """What became of the last key or paste in the field; "" where that goes without saying."""
        return self.field.said if self.field is not None else ""

    @property
    def has_the_keys(self) -> bool:
        """Whether keys and clicks are for this page: it is on top, and the program goes on."""
        return self.is_active and not self.host.is_leaving

    def on_key(self, event: events.Key) -> None:
        """Hand a key on; see `take_key`.

        Keys may wait here when one of them leads to another page. Those behind it were typed ahead
        for that page and reach it, in their order and with their own times, once it is there; this
        page acts on nothing once it is dismissed or replaced. Clicks were aimed at what is gone,
        and are dropped. Once the program was told to end, keys are dropped too.
        """
        if not self.host.takes_key(self, event.time):
            return
        key = key_name(event)
        if self.has_the_keys:
            self.act_on_waiting(key)
        if self.has_the_keys:
            self.act_on(key, event)
        else:
            event.stop()
            event.prevent_default()
            self._hand_over(event)

    def act_on_waiting(self, key: str) -> None:
        """Do what was pressed before this key and waits in the filter; it may lead elsewhere."""

    def act_on(self, key: str, event: events.Key) -> None:
        """Act on a key that is for this page."""
        if not self.FILTERS_KEYS:
            # Held on, it does nothing on the page it leads to.
            self.host.keys = self.host.keys.seen(key, event.time)
        taken = (
            self._leave_program(key)
            or self._edit(event)
            or self.take_key(key, event)
            or self._stop(key)
            or self._list_keys(key)
            or self.scroll(key)
        )
        if taken:
            event.stop()
            event.prevent_default()
            if self.is_active:
                self.redraw()

    def on_paste(self, event: events.Paste) -> None:
        """Give the field what was pasted, in its turn among the keys; see `on_key`."""
        event.stop()
        if not self.host.takes_key(self, event.time):
            return
        if self.has_the_keys:
            self.act_on_waiting("")
        if not self.has_the_keys:
            self._hand_over(event)
        elif self.field is not None:
            self.field.paste(event.text)
            self.typed()
            self.redraw()

    def _edit(self, event: events.Key) -> bool:
        """Give a key to the field, where there is one that has a use for it."""
        if self.field is None or not self.field.take(event):
            return False
        self.typed()
        return True

    def _hand_over(self, event: events.Key | events.Paste) -> None:
        """Give a key or a paste to the page that is on top now."""
        page = self.host.screen_stack[-1] if self.host.screen_stack else None
        if isinstance(page, Page) and page.has_the_keys:
            again = (
                events.Paste(event.text)
                if isinstance(event, events.Paste)
                else events.Key(event.key, event.character)
            )
            again.time = event.time
            page._forward_event(again)

    def dismiss(self, result: ScreenResultType | None = None) -> AwaitComplete:
        """Go, and give the result to who asked; a page that is not on top has given its result."""
        return super().dismiss(result) if self.is_active else AwaitComplete()

    def key_lines(self, width: int) -> Sequence[Row]:
        return rows_of(self._laid_out(self._all_hints(), width))

    def _forward_event(self, event: events.Event) -> None:
        # What reaches a handler of the mouse is a copy that has lost the time it was read at.
        if isinstance(event, events.MouseDown) and not event.is_forwarded:
            self._click(event.screen_x, event.screen_y, event.time)
        super()._forward_event(event)

    def _click(self, column: int, line: int, when: float) -> None:
        """Press the key that what is drawn there stands for."""
        # In its turn among the keys that wait here.
        self.call_later(self._clicked_on, self.press_under(column, line), when)

    def _clicked_on(self, press: str, when: float) -> None:
        if press and self.has_the_keys:
            self.take_press(press, when)

    def _leave_program(self, key: str) -> bool:
        """Leave the program, or ask about it."""
        if key not in LEAVE_KEYS:
            return False
        self.host.ask_to_leave()
        return True

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
        if press is not None and self.has_the_keys:
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
