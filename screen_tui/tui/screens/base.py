"""What all pages do: how they are laid out and scrolled, and the way of their keys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Generic, cast

from textual import events
from textual.app import ComposeResult
from textual.await_complete import AwaitComplete
from textual.screen import Screen, ScreenResultType

from screen_tui.trial.keymap import KEYMAP, Action
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    ascii_rows,
    clipped,
    ends,
    paragraph,
    press_at,
    row,
)
from screen_tui.tui.drawing.words import how_shown
from screen_tui.tui.keys import KeyHint, do_key, fitting, key_name, key_pressed, lay_out
from screen_tui.tui.widgets import Field, RowsWidget

if TYPE_CHECKING:
    from screen_tui.tui.app import ScreenApp

MORE_KEY, STOP_KEY = KEYMAP.key(Action.ALL_KEYS), KEYMAP.key(Action.STOP)
HELP_KEY = KEYMAP.key(Action.HELP)
ANSWERS_KEY = KEYMAP.key(Action.ANSWERS)
LEAVE_KEYS = KEYMAP.binding(Action.END_PROGRAM).keys
LEAST_COLUMNS = 60
LEAST_ROWS = 20
HEAD_FROM = 10
"""Rows from which on a page that goes smaller than that has a head."""
MOST_NOTICE = 4
NARROW_BODY = 72
"""Columns of the body in the narrow layout, in which nothing is in two columns."""

_TOO_SMALL = (
    f"Make the window larger: {LEAST_COLUMNS} columns and {LEAST_ROWS} rows are needed. "
    "Nothing is lost."
)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A body: its rows, and the first and last of those that must be in sight, if any."""

    rows: Sequence[Row]
    focus: tuple[int, int] | None = None


class BaseScreen(Screen[ScreenResultType], Generic[ScreenResultType]):
    """A page of the program: subclasses draw it and take its keys.

    What is drawn is a head, a body that is scrolled where there is more than fits, a notice and
    the line of keys. Keys go to the field first, where there is one, and then to `take_key`; what
    neither takes may stop the whole screen, list the keys, or scroll the body. A click presses the
    key that what is drawn there stands for.
    """

    AUTO_FOCUS = None
    STEADY_NOTICE: ClassVar[int] = 0
    STEADY_KEYS: ClassVar[int] = 1
    """Rows left for the notice and the keys, so that the body does not move when they change."""
    ALLOW_SELECT = False
    STOPPABLE: ClassVar[bool] = True
    """Whether the whole screen can be stopped for safety from here."""
    GUIDE: ClassVar[str] = ""
    """The topic that help opens with from here; "" for that of the page below."""
    ANY_SIZE: ClassVar[bool] = False
    """Whether it goes on in a window smaller than pages need, with one row of keys."""
    FILTERS_KEYS: ClassVar[bool] = False
    """Whether a held key counts once here; elsewhere a key acts each time it comes."""

    heading: str = ""
    field: Field | None = None
    """The text that is typed here now; None where keys have other meanings."""
    said: str = ""
    """What the last key came to, as the notice says."""

    def __init__(self) -> None:
        super().__init__()
        self._offset = 0
        self._shown: dict[str, tuple[Row, ...]] = {}
        self._drawn = Drawn(())
        self._room = 1

    @property
    def host(self) -> ScreenApp:
        return cast("ScreenApp", self.app)

    # What a subclass fills in.

    def head(self) -> tuple[Row, Row]:
        """What is at the left and at the right end of the first line."""
        return screen_head(self.heading)

    def draw(self, width: int, height: int) -> Drawn:
        """Draw the body for ``width`` columns; ``height`` rows of it are in sight."""
        raise NotImplementedError

    def notice(self) -> str:
        return self.said_of_typing or self.said

    def hints(self) -> Sequence[KeyHint]:
        return ()

    def take_key(self, key: str, event: events.Key) -> bool:
        """Do what a key means here, by the hints; False when it means nothing."""
        return do_key(self.hints(), key)

    def go_back(self) -> None:
        self.dismiss(None)

    def typed(self) -> None:
        """Do what follows when the field has taken a key or a paste."""

    def take_press(self, press: str, when: float) -> None:
        """Do what a click stands for: a press of the key of that name, at the time of the click."""
        self.on_key(key_pressed(press, when))

    def compose(self) -> ComposeResult:
        yield from map(RowsWidget, ("head", "body", "notice", "keys", "too-small"))

    def on_mount(self) -> None:
        self.redraw()

    def on_screen_resume(self) -> None:
        self.redraw()

    def on_resize(self) -> None:
        self.redraw()

    def on_mouse_scroll_down(self) -> None:
        self._scroll_by(3)

    def on_mouse_scroll_up(self) -> None:
        self._scroll_by(-3)

    @property
    def gone(self) -> bool:
        """Whether it was left, so that nothing that still reaches it may do or draw anything."""
        return self.host.is_leaving or self not in self.host.screen_stack

    @property
    def is_drawn(self) -> bool:
        return bool(self._shown)

    @property
    def scrolled_to_end(self) -> bool:
        return self._offset + self._room >= len(self._drawn.rows)

    def redraw(self) -> None:
        width, height = self.size
        if not self.is_mounted or width == 0 or not self._nodes or self.gone:
            return
        small = self.is_small
        self.set_class(small and not self.ANY_SIZE, "-too-small")
        self.set_class(small and height < HEAD_FROM, "-headless")
        inner = max(width - 2, 1)
        if small and not self.ANY_SIZE:
            rows = paragraph(_TOO_SMALL, inner)
            self.query_one("#too-small", RowsWidget).show(tuple(rows))
            return
        said = self.host.controller.trouble or self.notice()  # why it is not on disk comes first
        most = 1 if small else MOST_NOTICE
        lines = _at_most(paragraph(said, inner, "second"), most, inner) if said else []
        notice = _filled(lines, 0 if small else self.STEADY_NOTICE)
        head = 0 if small and height < HEAD_FROM else 1
        narrow = self.host.settings.layout == "narrow"
        for _ in range(2):
            scrolled = self.scrolls
            keys = _filled(self.key_lines(inner), 1 if small else self.STEADY_KEYS)
            self._room = max(height - head - len(notice) - len(keys), 1)
            self._drawn = self.draw(min(inner, NARROW_BODY) if narrow else inner, self._room)
            # Whether a key scrolls is known once it is drawn. Lines of keys that came later, while
            # the framework lays out, would have no room.
            if self.scrolls == scrolled:
                break
        if self._drawn.focus is not None:
            first, last = self._drawn.focus
            self._offset = min(self._offset, first)
            self._offset = max(self._offset, last - self._room + 1)
        self._offset = min(self._offset, max(len(self._drawn.rows) - self._room, 0))
        body = self._drawn.rows[self._offset : self._offset + self._room]
        self._show("head", (self._head_row(inner),))
        self._show("body", tuple(body))
        self._show("notice", notice)
        self._show("keys", keys)

    @property
    def is_small(self) -> bool:
        return self.size.width < LEAST_COLUMNS or self.size.height < LEAST_ROWS

    def _head_row(self, width: int) -> Row:
        left, right = self.head()
        if len(self._drawn.rows) > self._room:
            last = min(self._offset + self._room, len(self._drawn.rows))
            marks = ("↑" if self._offset else " ") + (" " if self.scrolled_to_end else "↓")
            place = f"  {marks} {last}/{len(self._drawn.rows)}"
            right = (*right, Span(place, "quiet"))
        return ends(left, right, width)

    def _show(self, part: str, rows: tuple[Row, ...]) -> None:
        if self.host.settings.ascii_only:
            rows = ascii_rows(rows)
        if self._shown.get(part) != rows:
            self._shown[part] = rows
            widget = self.query_one(f"#{part}", RowsWidget)
            widget.show(rows)
            widget.set_class(not rows, "-empty")

    @property
    def scrolls(self) -> bool:
        """Whether there is more than fits, and nothing in it that must stay in sight."""
        return len(self._drawn.rows) > self._room and self._drawn.focus is None

    def press_under(self, column: int, line: int) -> str:
        """The name of the key that what is drawn there stands for; "" for none."""
        for part, rows in self._shown.items():
            region = self.query_one(f"#{part}").region
            at = line - region.y
            if region.contains(column, line) and at < len(rows):
                return press_at(rows[at], column - region.x - 1)
        return ""

    def scroll(self, key: str) -> bool:
        """Scroll by a key; False when it does not, or nothing moved."""
        page, end = max(self._room - 1, 1), len(self._drawn.rows)
        steps = {"up": -1, "down": 1, "pageup": -page, "pagedown": page, "space": page}
        steps |= {"home": -end, "end": end}
        return self._drawn.focus is None and self._scroll_by(steps.get(key, 0))

    def _scroll_by(self, rows: int) -> bool:
        before, furthest = self._offset, max(len(self._drawn.rows) - self._room, 0)
        self._offset = min(max(before + rows, 0), furthest)
        if self._offset != before:
            self.redraw()
        return self._offset != before

    # Keys and clicks.

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
        and are dropped. Once the program was asked to end, keys are dropped too.
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
        if not self.FILTERS_KEYS:
            # Held on, it does nothing on the page it leads to.
            self.host.keys = self.host.keys.seen(key, event.time)
        if key in LEAVE_KEYS:
            self.host.ask_to_leave()
        taken = (
            key in LEAVE_KEYS
            or self._edit(event)
            or self.take_key(key, event)
            or self._everywhere(key)
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
        if self.field is None or not self.field.take(event):
            return False
        self.typed()
        return True

    def _hand_over(self, event: events.Key | events.Paste) -> None:
        page = self.host.screen_stack[-1] if self.host.screen_stack else None
        if isinstance(page, BaseScreen) and page.has_the_keys:
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
        """The line of keys; where there is no room for all, with the key that lists them."""
        hints = self._all_hints()
        if self.is_small:
            return lay_out(hints, width, rows=1)
        if self.lists_keys and not _all_fit(hints, width):
            hints = (*hints, KeyHint(MORE_KEY, "more", 0))
        return lay_out(hints, width)

    def _forward_event(self, event: events.Event) -> None:
        # What reaches a handler of the mouse is a copy that has lost the time it was read at.
        if isinstance(event, events.MouseDown) and not event.is_forwarded:
            press = self.press_under(event.screen_x, event.screen_y)
            # In its turn among the keys that wait here.
            self.call_later(self._clicked_on, press, event.time)
        super()._forward_event(event)

    def _clicked_on(self, press: str, when: float) -> None:
        if press and self.has_the_keys:
            self.take_press(press, when)

    def _everywhere(self, key: str) -> bool:
        """Do what a key does on every page where it has a meaning; False where it has none."""
        if key == STOP_KEY and self._stoppable:
            self.host.ask_to_stop()
        elif key == HELP_KEY and not self.typing_now:
            self.host.show_help()
        elif key == ANSWERS_KEY and self.host.answers_can_be_changed(self):
            self.host.change_answers()
        elif key == MORE_KEY and self.lists_keys:
            hints = self._all_hints()
            if _all_fit(hints, self.size.width - 2):
                return False
            self.host.list_keys(hints, self._press_chosen)
        else:
            return False
        return True

    @property
    def _stoppable(self) -> bool:
        return self.STOPPABLE and not self.typing_now and self.host.controller.stoppable

    def _all_hints(self) -> tuple[KeyHint, ...]:
        own = self.hints()
        stop = self._stoppable and all(hint.key != STOP_KEY for hint in own) and not self.is_small
        answers = self.host.answers_can_be_changed(self) and not self.FILTERS_KEYS
        return (
            *own,
            *((KeyHint(ANSWERS_KEY, "questions", 5),) if answers else ()),
            *((KeyHint(STOP_KEY, "stop testing", 5),) if stop else ()),
            *((KeyHint("↑↓ Space", "scroll", 6),) if self.scrolls else ()),
        )

    @property
    def lists_keys(self) -> bool:
        """Whether all keys may be listed on a page of their own now."""
        return not self.typing_now

    def _press_chosen(self, press: str) -> None:
        if self.has_the_keys:
            self.host.keys = self.host.keys.anew(press)
            self.take_press(press, self.host.clock.monotonic())


class SessionScreen(BaseScreen[None]):
    """A page on the session in hand; its head says whose it is."""

    def head(self) -> tuple[Row, Row]:
        controller = self.host.controller
        shown = how_shown(controller.session, read_only=controller.closed)
        return screen_head(self.heading, shown, controller.session.client.label)


def _all_fit(hints: Sequence[KeyHint], width: int) -> bool:
    return len(fitting(hints, width)) == len(hints)


def screen_head(title: str, *right: str) -> tuple[Row, Row]:
    """A head with a title at the left and details at the right."""
    return row(Span(title, "first")), row(Span("  ".join(part for part in right if part), "quiet"))


def _at_most(rows: Sequence[Row], most: int, width: int) -> list[Row]:
    """The first rows, with a mark where more was said: a notice never crowds out the body."""
    if len(rows) <= most:
        return list(rows)
    *head, last = rows[most - 1]
    return [*rows[: most - 1], (*head, Span(clipped(f"{last.text} …", width), last.role))]


def _filled(rows: Sequence[Row], least: int) -> tuple[Row, ...]:
    return (*rows, *([BLANK] * (least - len(rows))))
