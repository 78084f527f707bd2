"""How far the timing of a trial can be trusted.

A stamp cannot repair what happens before it is made: a computer that stood still, that slept, or a
terminal that did not have the keys. These flags say so; they never change a time.

A computer stands still in two ways. A stopped process and a stalled machine go on counting on the
monotonic clock, so the ticks of the display fall silent; while it sleeps, that clock may stand
still as well (on Linux it does), and only the clock on the wall tells.
"""

from __future__ import annotations

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


@dataclass(frozen=True, slots=True)
class TrustWatch:
    """Gathers the flags of one trial while it runs, and how long the computer stood still in it.

    Attributes:
        last_tick: Monotonic seconds of the last sign that the program was at work, or None.
        flags: What has been seen, each flag once, in the order in which it was first seen.
        silences: (from, to) in monotonic seconds of each time the program stood still.
        wall_ahead_s: Seconds by which the clock on the wall ran ahead of the monotonic clock since
            the start, at its furthest; below zero where it was set back.
    """

    last_tick: float | None = None
    flags: tuple[Flag, ...] = ()
    silences: tuple[tuple[float, float], ...] = ()
    wall_ahead_s: float = 0.0

    def tick(self, now: float) -> TrustWatch:
        """Take a tick of the display, or a key that is handled, at monotonic `now`."""
        after = self.idle(now)
        return after._flag("stall", len(after.silences) > len(self.silences))

    def idle(self, now: float) -> TrustWatch:
        """Take a tick while nothing is timed: a silence is remembered and not flagged."""
        if self.last_tick is not None and now - self.last_tick > TICK_GAP_S:
            return replace(self, last_tick=now, silences=(*self.silences, (self.last_tick, now)))
        return replace(self, last_tick=now)

    def begun(self, start: float) -> TrustWatch:
        """Watch a trial that started at monotonic `start`.

        A silence it started in is part of it. So is one that was only just over: a key that was
        pressed while a process stood still is read, and stamped, when it goes on.
        """
        own = tuple(one for one in self.silences if start - one[1] <= HANDLING_LAG_S)
        return TrustWatch(self.last_tick, ("stall",) if own else (), own)

    def stood_still_s(self, until: float) -> float:
        """Seconds the computer stood still, in silences that began before monotonic `until`.

        That is, in those in which the trial ran: of its end in a silence nobody can tell when the
        hand moved. What the wall clock ran ahead by counts as well: as far as can be known here
        the computer slept so long.
        """
        silent = sum(later - earlier for earlier, later in self.silences if earlier < until)
        return silent + (self.wall_ahead_s if self.wall_ahead_s > CLOCK_DIFFERENCE_S else 0.0)

    def press(self, stamp: float, handled_at: float) -> TrustWatch:
        """Take a key event as it arrives, before any filter that may hold it back."""
        return self._flag("stall", handled_at - stamp > HANDLING_LAG_S)

    def blur(self) -> TrustWatch:
        """Note that the terminal lost the keyboard: keys went elsewhere."""
        return self._flag("lost-focus", True)

    def wall(
        self, start_wall: datetime, end_wall: datetime, start: float, end: float
    ) -> TrustWatch:
        """Compare both clocks over the trial.

        Raises:
            ValueError: If a date has no offset from UTC.
        """
        if start_wall.utcoffset() is None or end_wall.utcoffset() is None:
            raise ValueError("wall times need an offset from UTC to be subtracted")
        # Within one zone Python subtracts the clock faces, also over a change of offset.
        on_the_wall = end_wall.astimezone(UTC) - start_wall.astimezone(UTC)
        ahead = on_the_wall.total_seconds() - (end - start)
        furthest = max(self.wall_ahead_s, ahead, key=abs)
        apart = abs(ahead) > CLOCK_DIFFERENCE_S
        return replace(self._flag("suspend", apart), wall_ahead_s=furthest)

    def splits(self, splits: tuple[float, ...], min_split_s: float, ignored: int = 0) -> TrustWatch:
        """Look at the repetitions of the ended trial: did one come sooner than anyone moves?

        ``splits`` are seconds from the start to each; one press that was ignored flags it, too.
        """
        shortest = min_split_s - _ROUNDING_S
        gaps = (late - early for early, late in pairwise((0.0, *splits)))
        implausible = ignored > 0 or any(gap < shortest for gap in gaps)
        return self._flag("implausible-split", implausible)

    def _flag(self, flag: Flag, seen: bool) -> TrustWatch:
        if not seen or flag in self.flags:
            return self
        return replace(self, flags=(*self.flags, flag))
