"""Waiting for a program to have done all it can do at once, without a sleep and without a clock."""

from __future__ import annotations

import asyncio

from textual.app import App

_MOST_ROUNDS = 10_000
"""Far more than any key leads to; whoever needs more does not come to rest."""


async def settled(app: App[None]) -> None:
    """Wait until all messages are handled and all is painted, on a new screen too.

    Only what waits for time to pass is left: a timer, or a key.

    Raises:
        AssertionError: The program does not come to rest.
    """
    for _ in range(_MOST_ROUNDS):
        await _nothing_ready()
        if not app.screen_stack or not _to_paint(app):
            return
        app.screen._on_timer_update()
    raise AssertionError("the screen is painted again and again")


async def _nothing_ready() -> None:
    """Let the loop run until each task waits for something that no other task can give it.

    Every queue, screen and callback is such a task or is served by one, so none is asked.
    """
    loop = asyncio.get_running_loop()
    for _ in range(_MOST_ROUNDS):
        # Twice: a signal or an answer of the system is seen in between.
        await asyncio.sleep(0)
        await asyncio.sleep(0)
        # This task goes to the end of the row each time; what is ready now stands behind it.
        if not loop._ready:  # type: ignore[attr-defined]
            return
    raise AssertionError("the messages never come to an end")


def _to_paint(app: App[None]) -> bool:
    """Whether the screen waits for the timer that paints it, sixty times a second."""
    screen = app.screen
    return screen.is_running and screen._update_timer._active.is_set()
