"""Driving the program as a person does, with a clock that only the test moves."""

from __future__ import annotations

import os
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path

import pytest
from support import small_protocol as small
from support.clock import FakeClock
from support.form_keys import NOT_ASKED
from support.hands import Driver

from screen_tui.files.places import preferences_file
from screen_tui.preferences import Opened, Preferences, Preferred
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.store import SessionStore
from screen_tui.tui.app import ScreenApp
from screen_tui.tui.settings import Settings, settings_for

Open = Callable[..., AbstractAsyncContextManager[Driver]]


@pytest.fixture
def clock() -> FakeClock:
    return FakeClock()


@pytest.fixture
def store(tmp_path: Path) -> SessionStore:
    return SessionStore(tmp_path / "sessions")


@pytest.fixture
def knee() -> ScreenProtocol:
    """A short battery with a test of each of the kinds that differ on the screen."""
    return small_screen()


def small_screen() -> ScreenProtocol:
    stance = small.test_spec(
        "stance",
        name="Stance on one leg",
        short_name="Stance",
        trials=2,
        lines=[small.line("value", "at least", 10, from_age=18, to_age=99)],
        cues=[{"id": "pelvis-level", "say": "Keep the pelvis level."}],
        findings=[small.finding("pelvis-drops", none=3, hip=60)],
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
        findings=[small.finding("unsteady", none=10, hip=50)],
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
        findings=[
            small.finding(
                when={"measure": "value", "at_least": 5},
                words="bent",
                none=3,
                foot=60,
                trait="bend",
            )
        ],
    )
    signs = [
        {
            "id": "pelvis-drops",
            "label": "Pelvis drops",
            "digit": 1,
            "seen_as": "The free side sinks.",
        },
        {
            "id": "arch-collapses",
            "label": "Arch collapses",
            "digit": 4,
            "seen_as": "The arch sinks.",
        },
        {"id": "unsteady", "label": "Unsteady", "digit": 6, "seen_as": "Sways."},
    ]
    stop_rules = [
        {"text": "Chest pain.", "source": "judgement"},
        {"text": "Wishes to stop.", "source": "judgement"},
    ]
    priors = [small.prior(driver, 25, 10) for driver in ("hip-control", "foot-ankle-control")]
    priors.append(small.prior("movement-strategy", 25))
    return small.protocol(bend, stance, rises, signs=signs, stop_rules=stop_rules, priors=priors)


@pytest.fixture
def open_program(knee: ScreenProtocol, store: SessionStore, clock: FakeClock) -> Open:
    """Open the program in a window of some size; the display does not run by itself."""

    @asynccontextmanager
    async def opened(
        size: tuple[int, int] = (60, 20),
        protocol: ScreenProtocol | None = None,
        demo_folder: Path | None = None,
        settings: Settings | None = None,
        preferred: Preferred | None = None,
        environ: dict[str, str] | None = None,
        store: SessionStore = store,
    ) -> AsyncIterator[Driver]:
        variables = os.environ if environ is None else environ
        usual = settings_for(preferred.now, variables) if preferred else Settings()
        look = settings or usual
        opened = Opened(
            protocol or knee,
            store,
            preferred or Preferred(preferences_file(), wished(look)),
            demo_folder,
        )
        app = ScreenApp(opened, clock, look, environ=environ, tick=False)
        async with app.run_test(size=size) as pilot:
            driver = Driver(app, pilot, clock)
            await driver.settle()
            yield driver

    return opened


def wished(settings: Settings) -> Preferences:
    """The preferences that come to these settings."""
    return Preferences(
        theme=settings.colour_mode,
        count_in_s=int(settings.count_in_s),
        bell=settings.bell,
        flash=settings.flash,
        last_values=settings.last_values,
        layout=settings.layout,
    )


async def answer_questions(driver: Driver, label: str = "K-014", *, bearing: str = "1") -> None:
    """Go from Start through the questions: left knee, nothing to worry about, walking."""
    await driver.press("n")  # new session
    await driver.press("1")  # left
    await driver.press("n")  # the safety question
    await driver.press(bearing)
    await driver.press("enter")  # no surgery
    if bearing != "1":
        await driver.press("enter")  # no other limits
    await driver.press("1", "enter")  # pain
    await driver.press("1", "enter")  # walking
    await driver.press(*NOT_ASKED)
    await driver.type(label)
    await driver.press("enter")
    await driver.type("67")
    await driver.press("enter", "1")  # female
    await driver.press("enter")  # begin


@pytest.fixture
def answered() -> Callable[..., object]:
    return answer_questions
