"""How long one movement takes."""

from dataclasses import dataclass

from screen_tui.timing.stretch import StretchTimer


@dataclass(frozen=True, slots=True)
class OnceTimer(StretchTimer):
    """Times one movement: a press starts, a press ends.

    Its value is in seconds. A stop means that the movement was not completed: there is no value.
    """
