"""How long a position is held, up to a cap."""

from dataclasses import dataclass
from typing import ClassVar

from screen_tui.timing.stretch import StretchTimer
from screen_tui.timing.timer import require_positive


@dataclass(frozen=True, slots=True)
class HoldTimer(StretchTimer):
    """Times a hold: a press starts, a press ends, the cap ends it if it lasts that long.

    Its value is the seconds held; when `capped`, the cap. A stop is an end like any other, since a
    hold is over whenever it is over.

    Attributes:
        cap_s: Seconds after which the hold is not timed further.

    Raises:
        ValueError: If the cap is not above zero.
    """

    stop_is_an_end: ClassVar[bool] = True

    cap_s: float

    def __post_init__(self) -> None:
        require_positive("the cap of a hold", self.cap_s)

    @property
    def longest_s(self) -> float:
        """The cap, in seconds."""
        return self.cap_s
