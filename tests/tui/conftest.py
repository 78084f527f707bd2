"""Driving the program as a person does, with a clock that only the test moves."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path

import pytest
from rich.cells import cell_len
from support import small_protocol as small
from textual import events
from textual.keys import _character_to_key
from textual.pilot import Pilot

from screen_tui.clock import FakeClock
from screen_tui.preferences import Preferred
from screen_tui.protocol.whole import Protocol
from screen_tui.session.store import SessionStore
from screen_tui.tui.app import ScreenApp, Settings
from screen_tui.tui.screens.trial import TrialPage

SILENCE_S = 2.0
"""Longer than any keyboard waits before it repeats a key that is held."""


class Driver:
    """Hands on the keys: each press has the stamp the fake clock shows."""

    def __init__(self, app: ScreenApp, pilot: Pilot[None], clock: FakeClock) -> None:
        self.app = app
        self.pilot = pilot
        self.clock = clock

    async def press(self, *keys: str) -> None:
        """Press keys one after the other, far enough apart to be taken at once."""
        for key in keys:
            self.clock.advance(SILENCE_S)
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
            self.clock.advance(SILENCE_S)
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

    async def wait(self, seconds: float) -> None:
        """Let time pass, with one tick of the display at its end."""
        self.clock.advance(seconds)
        self.tick()
        await self.settle()

    def tick(self) -> None:
        """Let the display run once."""
        if isinstance(self.app.screen, TrialPage):
            self.app.screen.tick()

    async def settle(self) -> None:
        """Wait until all messages are handled, on a new screen too."""
        before = self.app.screen if self.app.screen_stack else None
        await self.pilot.pause()
        if self.app.screen_stack and self.app.screen is not before:
            await self.pilot.pause()

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


Open = Callable[..., AbstractAsyncContextManager[Driver]]


@pytest.fixture
def clock() -> FakeClock:
    return FakeClock()


@pytest.fixture
def store(tmp_path: Path) -> SessionStore:
    return SessionStore(tmp_path / "sessions")


@pytest.fixture
def knee() -> Protocol:
    """A short battery with a test of each of the kinds that differ on the screen."""
    return small_screen()


def small_screen() -> Protocol:
    stance = small.test_spec(
        "stance",
        name="Stance on one leg",
        short_name="Stance",
        trials=2,
        lines=[small.line("value", "at least", 10, from_age=18, to_age=99)],
        cues=[{"id": "pelvis-level", "say": "Keep the pelvis level.", "for_driver": "hip-control"}],
        evidence=[
            small.rule("hip-control", "for", "strong", "pelvis", signs_any=["pelvis-drops"]),
        ],
    )
    rises = small.test_spec(
        "rises",
        name="Rising five times",
        short_name="Five rises",
        sides="both",
        load="both-legs",
        timer={"kind": "time-for-count", "count": 5, "min_split_s": 0.5, "end_point": "sit"},
        plausible={"minimum": 2, "maximum": 120},
        measures=[small.measure(better="lower")],
        evidence=[small.rule("hip-control", "for", "moderate", "rising", signs_any=["unsteady"])],
    )
    bend = small.test_spec(
        "bend",
        name="Straightening the knee",
        short_name="Straightening",
        load="unloaded",
        timer={
            "kind": "measure",
            "fields": [
                {
                    "id": "value",
                    "label": "Degrees short of straight",
                    "minimum": -30,
                    "maximum": 120,
                    "hint": "0 is straight",
                }
            ],
        },
        plausible={"minimum": -30, "maximum": 120},
        signs=[],
        evidence=[
            small.rule("foot-ankle-control", "for", "strong", "bend", measure="value", at_least=5)
        ],
    )
    signs = [
        {"id": "pelvis-drops", "label": "Pelvis drops", "seen_as": "The free side sinks."},
        {"id": "arch-collapses", "label": "Arch collapses", "seen_as": "The arch sinks."},
        {"id": "unsteady", "label": "Unsteady", "seen_as": "Sways."},
    ]
    stop_rules = [
        {"text": "Chest pain.", "source": "judgement"},
        {"text": "Wishes to stop.", "source": "judgement"},
    ]
    return small.protocol(bend, stance, rises, signs=signs, stop_rules=stop_rules)


@pytest.fixture
def open_program(knee: Protocol, store: SessionStore, clock: FakeClock) -> Open:
    """Open the program in a window of some size; the display does not run by itself."""

    @asynccontextmanager
    async def opened(
        size: tuple[int, int] = (60, 20),
        protocol: Protocol | None = None,
        demo_folder: Path | None = None,
        settings: Settings | None = None,
        preferred: Preferred | None = None,
        environ: dict[str, str] | None = None,
    ) -> AsyncIterator[Driver]:
        app = ScreenApp(
            protocol or knee,
            store,
            clock,
            demo_folder,
            settings,
            preferred=preferred,
            environ=environ,
            tick=False,
        )
        async with app.run_test(size=size) as pilot:
            driver = Driver(app, pilot, clock)
            await driver.settle()
            yield driver

    return opened


async def answer_questions(driver: Driver, label: str = "K-014", *, bearing: str = "1") -> None:
    """Go from Start through the questions: nothing to worry about, left knee, walking."""
    await driver.press("n")  # new screen
    await driver.press("n")  # the safety question
    await driver.press(bearing)
    await driver.press("enter")  # no surgery
    if bearing != "1":
        await driver.press("enter")  # no other limits
    await driver.press("1", "enter")  # pain
    await driver.press("1")  # left
    await driver.press("1", "enter")  # walking
    await driver.type(label)
    await driver.press("enter")
    await driver.type("67")
    await driver.press("enter", "1")  # female
    await driver.press("enter", "enter", "enter")  # no height, mass, note


@pytest.fixture
def answered() -> Callable[..., object]:
    return answer_questions
