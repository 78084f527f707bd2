"""How much of what is random is tried: a quarter in a run of every day, all of it in `.ci/run`."""

from __future__ import annotations

import os

from hypothesis import settings

LONG_RUN = "SCREEN_TUI_FUZZ"
"""The environment variable that asks for so many examples of each kind."""

# A busy two-core machine must not fail a property by the clock.
_STEADY = settings(settings.get_profile("default"), deadline=None)


def load_profiles() -> None:
    """Name both amounts, and take the one that is asked for; `--hypothesis-profile` goes above."""
    settings.register_profile("quick", _STEADY, max_examples=25)
    settings.register_profile("full", _STEADY, max_examples=100)
    settings.load_profile("full" if os.environ.get("CI") else "quick")


def examples(full: int) -> int:
    """How many examples to try.

    Args:
        full: As many as are worth it where there is time.
    """
    asked = os.environ.get(LONG_RUN)
    return int(asked) if asked else max(1, full * settings().max_examples // 100)
