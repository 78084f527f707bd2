"""How long one movement takes."""

from __future__ import annotations

from typing import ClassVar, Literal

from screen_tui.timing.spec import TimingSpec
from screen_tui.timing.timer import StretchTimer


class Once(TimingSpec):
    """Time of one movement."""

    kind: Literal["once"]

    runs_to: ClassVar[str] = "from go to its end"
    stretch: ClassVar[bool] = True

    def timer(self, steps: int | None = None) -> StretchTimer:
        return StretchTimer()
