"""How long a position is held, up to a cap."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Literal

from screen_tui.timing.spec import CAP, OF_TASKS, Movement, Seconds, TimingSpec
from screen_tui.timing.timer import StretchTimer


class Hold(TimingSpec):
    """Time to failure, capped."""

    kind: Literal["hold"]
    cap_s: Seconds

    runs_to: ClassVar[str] = "up to {cap_s:g} s"
    stretch: ClassVar[bool] = True
    patient_starts: ClassVar[bool] = True
    ends_for_a_reason: ClassVar[bool] = True
    reasons: ClassVar[Mapping[str, str]] = {
        "foot-down": "foot down",
        "arms-left-place": "arms left their place",
        "stance-foot-moved": "stance foot moved",
        "support-touched": "support touched",
        "unable": OF_TASKS["unable"],
        **OF_TASKS,
    }
    reached: ClassVar[str] = "FULL TIME"
    movement: ClassVar[Movement] = "stance"
    stops_early: ClassVar[bool] = False

    def timer(self, steps: int | None = None) -> HoldTimer:
        return HoldTimer(self.cap_s)

    @property
    def cap(self) -> float:
        return self.cap_s

    def ending_of(self, value: float, ended: str) -> str:
        # A hold as long as its cap ended there; a shorter one did not.
        if value >= self.cap_s:
            return CAP
        return "" if ended == CAP else ended

    def width(self) -> int:
        return 4 if self.cap_s < 100 else 5


@dataclass(frozen=True, slots=True)
class HoldTimer(StretchTimer):
    """Times a hold: a press starts, a press ends, the cap ends it if it lasts that long.

    Its value is the seconds held; when `capped`, the cap. A stop is an end like any other, since a
    hold is over whenever it is over.
    """

    stop_is_an_end: ClassVar[bool] = True

    cap_s: float

    @property
    def longest_s(self) -> float:
        return self.cap_s
