"""How long one movement takes."""

from __future__ import annotations

from typing import ClassVar, Literal

from screen_tui.timing.spec import TimingSpec
from screen_tui.timing.stretch import StretchTimer


class Once(TimingSpec):
    """Time of one movement."""

    kind: Literal["once"]

    stretch: ClassVar[bool] = True

    def timer(self, steps: int | None = None) -> StretchTimer:
        del steps
        return StretchTimer()

    def target(self, steps: int | None) -> str:
        del steps
        return "from go to its end"
