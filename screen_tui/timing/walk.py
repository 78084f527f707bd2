"""How fast a known distance is walked."""

from dataclasses import dataclass

from screen_tui.timing.stretch import StretchTimer
from screen_tui.timing.timer import require_positive


@dataclass(frozen=True, slots=True)
class WalkTimer(StretchTimer):
    """Times a walk: a press at the start line, a press at the end line.

    Its value is in seconds. A stop means that the end line was not reached: there is no value.

    Attributes:
        distance_m: Metres between the lines.

    Raises:
        ValueError: If the distance is not above zero.
    """

    distance_m: float

    def __post_init__(self) -> None:
        require_positive("the distance of a walk", self.distance_m)
