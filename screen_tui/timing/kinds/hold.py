"""How long a position is held, up to a cap."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Literal

from screen_tui.timing.spec import OF_TASKS, Movement, Seconds, TimerWords, TimingSpec
from screen_tui.timing.timer import IntervalTimer


class Hold(TimingSpec):
    """Time to failure, capped."""

    kind: Literal["hold"]
    cap_s: Seconds

    patient_starts: ClassVar[bool] = True
    stop_is_an_end: ClassVar[bool] = True
    reasons: ClassVar[Mapping[str, str]] = {
        "foot-down": "foot down",
        "arms-left-place": "arms left their place",
        "stance-foot-moved": "stance foot moved",
        "support-touched": "support touched",
        "unable": OF_TASKS["unable"],
        **OF_TASKS,
    }
    movement: ClassVar[Movement] = "stance"
    words: ClassVar[TimerWords] = TimerWords(target="up to {cap_s:g} s", reached="FULL TIME")

    def timer(self, steps: int | None = None) -> HoldTimer:
        return HoldTimer(self.cap_s)


@dataclass(frozen=True, slots=True)
class HoldTimer(IntervalTimer):
    """Times a hold: a press starts, a press ends, the cap ends it if it lasts that long.

    Its value is the seconds held; when `capped`, the cap. A stop is an end like any other.
    """

    stop_is_an_end: ClassVar[bool] = True

    cap_s: float

    @property
    def limit_s(self) -> float:
        return self.cap_s
