"""How long one movement takes."""

from __future__ import annotations

from typing import ClassVar, Literal

from screen_tui.timing.spec import TimerWords, TimingSpec


class Once(TimingSpec):
    """Time of one movement."""

    kind: Literal["once"]

    words: ClassVar[TimerWords] = TimerWords(target="from go to its end")
