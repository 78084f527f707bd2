"""How long one movement takes."""

from dataclasses import dataclass

from screen_tui.timing.stretch import StretchTimer
from screen_tui.timing.timer import require_positive


@dataclass(frozen=True, slots=True)
class OnceTimer(StretchTimer):
    """Times one movement: a press starts, a press ends.

    Its value is in seconds. A stop means that the movement was not completed: there is no value.

    Attributes:
        limit_s: Seconds after which the attempt is closed as `capped`, or None for no limit.

    Raises:
        ValueError: If there is a limit that is not above zero.
    """

    limit_s: float | None = None

    def __post_init__(self) -> None:
        if self.limit_s is not None:
            require_positive("the limit of a movement", self.limit_s)

    @property
    def longest_s(self) -> float | None:
        """The limit, in seconds, or None."""
        return self.limit_s
