"""The paper of all screens: a head, a body that is scrolled, a notice and the line of keys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Generic, cast

from textual.app import ComposeResult
from textual.screen import Screen, ScreenResultType

from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    ascii_rows,
    clipped,
    ends,
    paragraph,
    press_at,
)
from screen_tui.tui.sheet import Sheet

if TYPE_CHECKING:
    from screen_tui.tui.app import ScreenApp

LEAST_COLUMNS = 60
LEAST_ROWS = 20
WIDE_COLUMNS = 80
MOST_NOTICE = 4
NARROW_BODY = 72
"""Columns of the body in the narrow layout, in which nothing stands in two columns."""

_TOO_SMALL = (
    f"Make the window larger: {LEAST_COLUMNS} columns and {LEAST_ROWS} rows are needed. "
    "Nothing is lost."
)
_SCROLL_KEYS = ("up", "down", "pageup", "pagedown", "space", "home", "end")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A body: its rows, and which of them must be in sight.

    Attributes:
        rows: As many as there are; what does not fit is scrolled.
        focus: The first and last row that must be seen, or None.
    """

    rows: Sequence[Row]
    focus: tuple[int, int] | None = None


class Paper(Screen[ScreenResultType], Generic[ScreenResultType]):
    """Lays out what a screen draws, and scrolls the body where there is more than fits."""

    AUTO_FOCUS = None
    STEADY_NOTICE: ClassVar[int] = 0
    STEADY_KEYS: ClassVar[int] = 1
    """Rows kept for the notice and the keys, so that the body does not move when they change."""
    ALLOW_SELECT = False
    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012  (declared so by the framework)
        (0, "-narrow"),
        (WIDE_COLUMNS, "-wide"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._offset = 0
        self._shown: dict[str, tuple[Row, ...]] = {}
        self._drawn = Drawn(())
        self._room = 1

    @property
    def host(self) -> ScreenApp:
        """The app, as the type it is."""
        return cast("ScreenApp", self.app)

    def head(self) -> tuple[Row, Row]:
        """What stands at the left and at the right end of the first line."""
        return (), ()

    def draw(self, width: int, height: int) -> Drawn:
        """Draw the body for ``width`` columns; ``height`` rows of it are in sight."""
        raise NotImplementedError

    def notice(self) -> str:
        """A sentence above the keys, or nothing."""
        return ""

    @property
    def trouble(self) -> str:
        """Why the last change is not on disk, which outranks any notice."""
        return self.host.keeper.trouble

    def key_lines(self, width: int) -> Sequence[Row]:
        """The lines that say what the keys do."""
        raise NotImplementedError

    def compose(self) -> ComposeResult:
        """Lay out the four parts, and what is shown in a window that is too small for them."""
        yield Sheet(id="head")
        yield Sheet(id="body")
        yield Sheet(id="notice")
        yield Sheet(id="keys")
        yield Sheet(id="too-small")

    def on_mount(self) -> None:
        """Draw for the first time."""
        self.redraw()

    def on_screen_resume(self) -> None:
        """Draw again after another screen was on top."""
        self.redraw()

    def on_resize(self) -> None:
        """Fit the window."""
        self.redraw()

    def on_mouse_scroll_down(self) -> None:
        """Scroll with a wheel or a finger."""
        self._scroll_by(3)

    def on_mouse_scroll_up(self) -> None:
        """Scroll back."""
        self._scroll_by(-3)

    @property
    def gone(self) -> bool:
        """Whether it was left, so that nothing that still reaches it may do or draw anything."""
        return self.host.is_leaving or self not in self.host.screen_stack

    @property
    def is_drawn(self) -> bool:
        """Whether there is anything to be seen of it."""
        return bool(self._shown)

    @property
    def scrolled_to_end(self) -> bool:
        """Whether the last row is in sight."""
        return self._offset + self._room >= len(self._drawn.rows)

    def redraw(self) -> None:
        """Draw everything that has changed."""
        width, height = self.size
        if not self.is_mounted or width == 0 or not self._nodes or self.gone:
            return
        too_small = width < LEAST_COLUMNS or height < LEAST_ROWS
        self.set_class(too_small, "-too-small")
        inner = width - 2
        if too_small:
            self.query_one("#too-small", Sheet).show(tuple(paragraph(_TOO_SMALL, max(inner, 1))))
            return
        said = self.trouble or self.notice()
        told = _at_most(paragraph(said, inner, "second"), MOST_NOTICE, inner) if said else []
        notice = _filled(told, self.STEADY_NOTICE)
        narrow = self.host.settings.layout == "narrow"
        for _ in range(2):
            scrolled = self.scrolls
            keys = _filled(self.key_lines(inner), self.STEADY_KEYS)
            self._room = height - 1 - len(notice) - len(keys)
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
            sheet = self.query_one(f"#{part}", Sheet)
            sheet.show(rows)
            sheet.set_class(not rows, "-empty")

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
        if key not in _SCROLL_KEYS or self._drawn.focus is not None:
            return False
        page = max(self._room - 1, 1)
        end = len(self._drawn.rows)
        steps = {"up": -1, "down": 1, "pageup": -page, "pagedown": page, "space": page}
        return self._scroll_by({"home": -end, "end": end}.get(key, steps.get(key, 0)))

    def _scroll_by(self, rows: int) -> bool:
        furthest = max(len(self._drawn.rows) - self._room, 0)
        target = min(max(self._offset + rows, 0), furthest)
        moved = target != self._offset
        self._offset = target
        if moved:
            self.redraw()
        return moved


def _at_most(rows: Sequence[Row], most: int, width: int) -> list[Row]:
    """The first rows, with a mark where more was said: a notice never crowds out the body."""
    if len(rows) <= most:
        return list(rows)
    *head, last = rows[most - 1]
    return [*rows[: most - 1], (*head, Span(clipped(f"{last.text} …", width), last.role))]


def _filled(rows: Sequence[Row], least: int) -> tuple[Row, ...]:
    return (*rows, *([BLANK] * (least - len(rows))))
