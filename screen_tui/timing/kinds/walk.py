"""How fast a known distance is walked."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from screen_tui.timing.spec import Movement, TimerWords, TimingSpec


class Walk(TimingSpec):
    """Time over a distance, which gives speed; ``start`` says how the clock is started.

    The time is recorded to a hundredth of a second: a tenth is some hundredths of a metre per
    second over 4 m.
    """

    kind: Literal["walk"]
    distance_m: Annotated[float, Field(gt=0, le=100)]
    start: Literal["moving", "standing"]

    patient_starts: ClassVar[bool] = True
    decimals: ClassVar[int] = 2
    takes: ClassVar[frozenset[str]] = frozenset({"speed"})
    movement: ClassVar[Movement] = "walk"
    words: ClassVar[TimerWords] = TimerWords(target="{distance_m:g} m from a {start} start")

    def speed(self, seconds: float) -> float | None:
        return self.distance_m / seconds if seconds else None
