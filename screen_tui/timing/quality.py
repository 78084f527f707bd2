"""How far the timing of a trial can be trusted.

A stamp cannot repair what happens before it is made: a computer that stood still, that slept, or a
terminal that did not have the keys. These flags say so; they never change a time.
"""

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import pairwise
from typing import Literal

Flag = Literal["stall", "suspend", "lost-focus", "implausible-split"]

TICK_GAP_S = 0.5
"""Longer than this between two ticks of the display, and the program stood still."""
HANDLING_LAG_S = 0.25
"""Longer than this from the stamp of a press to its handling, and the program was held up."""
CLOCK_DIFFERENCE_S = 0.5
"""More than this between wall and monotonic time, and the computer slept or its clock was set."""
# Splits are differences of stamps; one that is just long enough must not fail by its last digit.
_ROUNDING_S = 1e-6


def tick_gap_is_a_stall(previous: float, now: float) -> bool:
    """Tell whether two ticks lie so far apart that the program stood still between them.

    Args:
        previous: Monotonic seconds of a tick.
        now: Monotonic seconds of the next.
    """
    return now - previous > TICK_GAP_S


def lag_is_a_stall(stamp: float, handled_at: float) -> bool:
    """Tell whether a press waited so long that the program was held up.

    Args:
        stamp: Monotonic seconds at which the key was read.
        handled_at: Monotonic seconds at which it was handled.
    """
    return handled_at - stamp > HANDLING_LAG_S


def clocks_disagree(start_wall: datetime, end_wall: datetime, start: float, end: float) -> bool:
    """Tell whether more or less time passed on the wall than on the monotonic clock.

    Args:
        start_wall: Date and time at the start, with its offset from UTC.
        end_wall: Date and time at the end, with its offset from UTC.
        start: Monotonic seconds at the start.
        end: Monotonic seconds at the end.

    Raises:
        ValueError: If a date has no offset from UTC.
    """
    if start_wall.utcoffset() is None or end_wall.utcoffset() is None:
        raise ValueError("wall times need an offset from UTC to be subtracted")
    # Through UTC: within one zone Python subtracts the clock faces, also over a change of offset.
    on_the_wall = (end_wall.astimezone(UTC) - start_wall.astimezone(UTC)).total_seconds()
    return abs(on_the_wall - (end - start)) > CLOCK_DIFFERENCE_S


def has_implausible_split(splits: tuple[float, ...], min_split_s: float) -> bool:
    """Tell whether a repetition came faster after the one before it than anyone moves.

    Args:
        splits: Seconds from the start to each repetition.
        min_split_s: The fewest plausible seconds for one.
    """
    shortest = min_split_s - _ROUNDING_S
    return any(late - early < shortest for early, late in pairwise((0.0, *splits)))


@dataclass(frozen=True, slots=True)
class TrustWatch:
    """Gathers the flags of one trial while it runs. Make a new one at the start of each.

    Attributes:
        last_tick: Monotonic seconds of the last tick, or None before the first; begin with the
            time of the start to watch the gap to the first tick too.
        flags: What has been seen, each flag once, in the order in which it was first seen.
    """

    last_tick: float | None = None
    flags: tuple[Flag, ...] = ()

    def tick(self, now: float) -> "TrustWatch":
        """Take a tick of the display at monotonic `now`."""
        stalled = self.last_tick is not None and tick_gap_is_a_stall(self.last_tick, now)
        return replace(self._flag("stall", stalled), last_tick=now)

    def press(self, stamp: float, handled_at: float) -> "TrustWatch":
        """Take a key event as it arrives, before any gate that may keep it back.

        Args:
            stamp: Monotonic seconds at which the key was read.
            handled_at: Monotonic seconds at which it is handled.
        """
        return self._flag("stall", lag_is_a_stall(stamp, handled_at))

    def blur(self) -> "TrustWatch":
        """Note that the terminal lost the keyboard: keys went elsewhere."""
        return self._flag("lost-focus", True)

    def wall(
        self, start_wall: datetime, end_wall: datetime, start: float, end: float
    ) -> "TrustWatch":
        """Compare both clocks over the trial; see `clocks_disagree`.

        Raises:
            ValueError: If a date has no offset from UTC.
        """
        return self._flag("suspend", clocks_disagree(start_wall, end_wall, start, end))

    def splits(
        self, splits: tuple[float, ...], min_split_s: float, ignored: int = 0
    ) -> "TrustWatch":
        """Look at the repetitions of the ended trial.

        Args:
            splits: Seconds from the start to each repetition.
            min_split_s: The fewest plausible seconds for one.
            ignored: Presses a timer left out as too fast; one is enough for the flag.
        """
        implausible = ignored > 0 or has_implausible_split(splits, min_split_s)
        return self._flag("implausible-split", implausible)

    def _flag(self, flag: Flag, seen: bool) -> "TrustWatch":
        if not seen or flag in self.flags:
            return self
        return replace(self, flags=(*self.flags, flag))
