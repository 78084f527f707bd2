"""How many repetitions are done within a set time."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import ClassVar, Literal, Self

from screen_tui.fields import Line
from screen_tui.timing.spec import Movement, Seconds, TimingSpec
from screen_tui.timing.timer import (
    GRACE_S,
    STOPPED_EARLY,
    TOO_FAST,
    CountingTimer,
    Phase,
    Snapshot,
)

AFTER_THE_END = "after the end, not counted"


class CountInTime(TimingSpec):
    """Repetitions in a window.

    ``half_question`` is asked when the time is up; a yes counts one more repetition.
    ``min_split_s`` is the fastest repetition a person can do; faster presses are ignored.
    """

    kind: Literal["count-in-time"]
    window_s: Seconds
    min_split_s: Seconds
    half_question: Line | None = None

    runs_to: ClassVar[str] = "as many as possible in {window_s:g} s"
    counts: ClassVar[bool] = True
    counted: ClassVar[str] = "repetitions"
    rises: ClassVar[bool] = True
    zero_with_hands: ClassVar[bool] = True
    decimals: ClassVar[int] = 0
    stopped: ClassVar[str] = "{when} with {done} counted"
    space: ClassVar[str] = "count"
    digits: ClassVar[int] = 2
    movement: ClassVar[Movement] = "chair"
    reached: ClassVar[str] = "FULL TIME"

    def timer(self, steps: int | None = None) -> CountInTimeTimer:
        return CountInTimeTimer(self.window_s, self.min_split_s, asks_half=bool(self.half_question))

    @property
    def window(self) -> float:
        return self.window_s

    @property
    def question(self) -> str:
        return self.half_question or ""

    @property
    def counts_upright(self) -> bool:
        return True

    @property
    def case_fields(self) -> frozenset[str]:
        return frozenset({"repetitions_s", "pace"} | ({"half_way_up"} if self.question else set()))

    def rising(self, value: float) -> tuple[float, float]:
        return self.window_s, value

    def main_number(self, seconds: float, count: float) -> str:
        return f"{count:02.0f}"

    def unit(self, of_measure: str) -> str:
        return of_measure or "counted"

    def beside(self, shot: Snapshot) -> tuple[str, str]:
        left = self.window_s if shot.remaining is None else shot.remaining
        return f"{math.ceil(left * 10 - 1e-6) / 10:04.1f}", "s left"


@dataclass(frozen=True, slots=True)
class CountInTimeTimer(CountingTimer):
    """A press starts a window, each press within it counts one, the end of the window ends.

    Where the test asks it, the ended timer asks whether the patient was more than
    half-way up when time ran out; that counts as one more. Its value is the count, also when it was
    stopped by hand before the window was over; it is `incomplete` then, and nothing is asked.

    Attributes:
        min_split_s: Fewer seconds than this from one to the next are not plausible; such a press is
            ignored.
        late: The last press came after the window and was not counted.
        half: The answer, or None while there is none; True counted one more.
    """

    window_s: float
    min_split_s: float
    asks_half: bool = True
    closed: bool = field(default=False, kw_only=True)
    late: bool = field(default=False, kw_only=True)
    half: bool | None = field(default=None, kw_only=True)

    @property
    def deadline(self) -> float | None:
        """Time at which the window is over; a press stamped then still counts."""
        return None if self.start is None else self.start + self.window_s

    @property
    def complete(self) -> bool:
        return self.closed

    @property
    def asking(self) -> bool:
        return self.asks_half and self.closed and self.half is None

    @property
    def counted(self) -> int:
        return len(self.splits) + (self.half is True)

    @property
    def value(self) -> float | None:
        return float(self.counted) if self.phase is Phase.ENDED else None

    def press(self, t: float) -> Self:
        """Start, or count one; a press stamped after the window ends it and does not count.

        A press stamped within the window counts even when the window has been closed meanwhile, as
        long as the timer was not stopped and nothing has been answered.
        """
        if self.incomplete or self.half is not None:
            return self
        if self.deadline is not None and t > self.deadline:
            return replace(self, closed=True, late=True)
        return self._add(t, self.min_split_s)

    def answer(self, yes: bool) -> Self:
        return replace(self, half=yes) if self.asking else self

    def stop(self, t: float) -> Self:
        if self.phase is Phase.RUNNING and self.deadline is not None and t > self.deadline:
            return replace(self, closed=True)
        # By name: a class with slots is made anew, so that `super` without a name is of another.
        return CountingTimer.stop(self, t)

    def tick(self, now: float) -> Self:
        if self.phase is not Phase.RUNNING or self.deadline is None:
            return self
        return replace(self, closed=True) if now >= self.deadline + GRACE_S else self

    def snapshot(self, now: float) -> Snapshot:
        elapsed = self.window_s if self.closed else min(self._elapsed(now), self.window_s)
        return Snapshot(
            phase=self.phase,
            elapsed=elapsed,
            remaining=self.window_s - elapsed,
            count=self.counted,
            splits=self.splits,
            target_reached=self.closed,
            asking=self.asking,
            note=self._note(),
        )

    def _note(self) -> str:
        if self.incomplete:
            return STOPPED_EARLY
        if self.late and self.half is None:
            return AFTER_THE_END
        return TOO_FAST if self.last_ignored and not self.closed else ""
