"""What the other tests rest on: after waiting, nothing is left that needs no time."""

from __future__ import annotations

import asyncio
import os
import signal

import pytest
from support.settled import settled
from textual.app import App, ComposeResult
from textual.screen import Screen
from textual.widgets import Static


class Second(Screen[None]):
    def compose(self) -> ComposeResult:
        yield Static("second")

    def on_mount(self) -> None:
        self.call_after_refresh(self.query_one(Static).update, "second, painted")


class TwoScreens(App[None]):
    def compose(self) -> ComposeResult:
        yield Static("first")


def shown(app: App[None]) -> str:
    return app.screen._compositor.render_strips()[0].text.strip()


@pytest.mark.parametrize("steps", [1, 2, 30])
async def test_what_leads_to_what_is_followed_to_its_end(steps: int) -> None:
    app = TwoScreens()
    left = steps

    def step() -> None:
        nonlocal left
        left -= 1
        if left:
            (app.call_later if left % 2 else app.call_after_refresh)(step)
        else:
            app.query_one(Static).update("last")

    async with app.run_test():
        app.call_later(step)
        await settled(app)
        assert shown(app) == "last"


@pytest.mark.parametrize("way", ["push_screen", "switch_screen"])
async def test_a_new_screen_is_mounted_painted_and_called_back(way: str) -> None:
    app = TwoScreens()
    async with app.run_test():
        app.push_screen(Screen())
        await settled(app)
        app.call_later(lambda: getattr(app, way)(Second()) and None)
        await settled(app)
        assert isinstance(app.screen, Second)
        assert shown(app) == "second, painted"


async def test_a_signal_has_arrived() -> None:
    app = TwoScreens()
    arrived: list[bool] = []
    async with app.run_test():
        loop = asyncio.get_running_loop()
        loop.add_signal_handler(signal.SIGUSR1, arrived.append, True)
        os.kill(os.getpid(), signal.SIGUSR1)
        await settled(app)
        loop.remove_signal_handler(signal.SIGUSR1)
    assert arrived == [True]


async def test_a_timer_is_not_waited_for() -> None:
    app = TwoScreens()
    async with app.run_test():
        app.set_timer(3600, lambda: app.query_one(Static).update("later"))
        await settled(app)
        assert shown(app) == "first"


async def test_what_never_rests_is_shown() -> None:
    async def again() -> None:
        while True:
            await asyncio.sleep(0)

    app = TwoScreens()
    async with app.run_test():
        task = asyncio.create_task(again())
        with pytest.raises(AssertionError, match="never come to an end"):
            await settled(app)
        task.cancel()
