"""How long one movement takes."""

from __future__ import annotations

from typing import ClassVar, Literal

from screen_tui.timing.spec import TimingSpec
from screen_tui.timing.timer import StretchTimer


class Once(TimingSpec):
    """Time of one movement."""

    kind: Literal["once"]

    stretch: ClassVar[bool] = True

    def timer(self, steps: int | None = None) -> StretchTimer:
        return StretchTimer()

    def target(self, steps: int | None) -> str:
        return "from go to its end"
