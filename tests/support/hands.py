"""Hands on the keys and on the mouse, with a clock that only they move."""

from __future__ import annotations

from rich.cells import cell_len
from textual import events
from textual.keys import _character_to_key
from textual.pilot import Pilot

from screen_tui.tui.app import ScreenApp
from screen_tui.tui.screens.test import TestScreen
from support.clock import FakeClock
from support.settled import settled

SILENCE_S = 2.0
"""Longer than any keyboard waits before it repeats a key that is held."""
TICK_S = 0.4
"""Seldom enough to be quick, and not so seldom that the program seems to stand still."""


class Driver:
    """Hands on the keys: each press has the stamp the fake clock shows."""

    def __init__(self, app: ScreenApp, pilot: Pilot[None], clock: FakeClock) -> None:
        self.app = app
        self.pilot = pilot
        self.clock = clock

    async def press(self, *keys: str) -> None:
        """Press keys one after the other, far enough apart to be taken at once."""
        for key in keys:
            self.pass_time(SILENCE_S)
            await self.press_at(key, self.clock.monotonic())

    async def press_at(self, key: str, t: float) -> None:
        """Press a key with a stamp of one's own, and let everything settle."""
        self.post(key, t)
        await self.settle()

    def post(self, key: str, t: float) -> None:
        """Put a key press into the queue without waiting for it to be handled."""
        event = key_event(key)
        event.time = t
        self.app.post_message(event)

    async def click(self, text: str, *, last: bool = False, t: float | None = None) -> None:
        """Click on the first place, or the last, where a text stands on the screen."""
        if t is None:
            self.pass_time(SILENCE_S)
        lines = self.text().splitlines()
        line, *_ = [at for at, one in enumerate(lines) if text in one][-1 if last else 0 :]
        column = cell_len(lines[line][: lines[line].index(text)])
        event = events.MouseDown(
            None, column, line, 0, 0, 1, False, False, False, screen_x=column, screen_y=line
        )
        event.time = self.clock.monotonic() if t is None else t
        self.app.screen._forward_event(event)
        await self.settle()

    async def type(self, text: str) -> None:
        """Type a text."""
        for character in text:
            await self.press("space" if character == " " else character)

    async def paste(self, text: str) -> None:
        """Paste a text, as a terminal hands it over."""
        event = events.Paste(text)
        event.time = self.clock.monotonic()
        self.app.post_message(event)
        await self.settle()

    async def fill(self, text: str) -> None:
        """Paste a text in place of what is typed."""
        await self.press("end", "ctrl+u")
        await self.paste(text)

    async def wait(self, seconds: float) -> None:
        """Let time pass, with a tick of the display at its end."""
        self.pass_time(seconds)
        self.tick()
        await self.settle()

    def pass_time(self, seconds: float) -> None:
        """Let time pass, with the display of a trial ticking up to the end."""
        until = self.clock.monotonic() + seconds
        self.tick()
        while until - self.clock.monotonic() > TICK_S:
            self.clock.advance(TICK_S)
            self.tick()
        self.clock.advance(until - self.clock.monotonic())

    def tick(self) -> None:
        """Let the display run once, also of a trial that lies under a question."""
        for page in self.app.screen_stack:
            if isinstance(page, TestScreen):
                page.tick()

    async def settle(self) -> None:
        """Wait until all messages are handled, on a new screen too."""
        await settled(self.app)

    def text(self) -> str:
        """What is on the screen, as text."""
        strips = self.app.screen._compositor.render_strips()
        return "\n".join(strip.text.rstrip() for strip in strips)

    async def read_on(self) -> str:
        """All there is to read on the screen, scrolled to its end, with single blanks."""
        pages = [self.words()]
        while not self.app.screen.scrolled_to_end:
            await self.press("space")
            pages.append(self.words())
        return " ".join(pages)

    def words(self) -> str:
        """The same with all white space made one blank, so that line breaks do not matter."""
        return " ".join(self.text().split())


def key_event(key: str) -> events.Key:
    """A key press as a terminal sends it."""
    if len(key) == 1:
        return events.Key(_character_to_key(key), key)
    return events.Key(key, " " if key == "space" else None)
