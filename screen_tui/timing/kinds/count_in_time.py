"""How many repetitions are done within a set time."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import ClassVar, Literal, Self

from screen_tui.fields import Line
from screen_tui.timing.spec import Movement, Seconds, TimerWords, TimingSpec
from screen_tui.timing.timer import GRACE_S, CountingTimer, Phase

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

    counts: ClassVar[str] = "repetitions"
    rises: ClassVar[bool] = True
    zero_with_hands: ClassVar[bool] = True
    movement: ClassVar[Movement] = "chair"
    words: ClassVar[TimerWords] = TimerWords(
        target="as many as possible in {window_s:g} s",
        number="{done:02.0f}",
        unit="{measure}",
        stopped="{when} with {done} counted",
        space="count",
        reached="FULL TIME",
    )

    def timer(self, steps: int | None = None) -> CountInTimeTimer:
        return CountInTimeTimer(self.window_s, self.min_split_s, asks_half=bool(self.half_question))

    @property
    def question(self) -> str:
        return self.half_question or ""

    @property
    def counts_upright(self) -> bool:
        return True

    def rising(self, value: float) -> tuple[float, float]:
        return self.window_s, value


@dataclass(frozen=True, slots=True)
class CountInTimeTimer(CountingTimer):
    """A press starts a window, each press within it counts one, the end of the window ends.

    Where the test asks it, the ended timer asks whether the patient was more than
    half-way up when time ran out; that counts as one more. Its value is the count, also when it was
    stopped by hand before the window was over; it is `incomplete` then, and nothing is asked.

    Attributes:
        late: The last press came after the window and was not counted.
        half: The answer, or None while there is none; True counted one more.
    """

    window_s: float
    min_split_s: float
    asks_half: bool = True
    reached: bool = field(default=False, kw_only=True)
    late: bool = field(default=False, kw_only=True)
    half: bool | None = field(default=None, kw_only=True)

    @property
    def limit_s(self) -> float:
        return self.window_s

    @property
    def asking(self) -> bool:
        return self.asks_half and self.reached and self.half is None

    @property
    def count(self) -> int:
        return len(self.splits) + (self.half is True)

    @property
    def value(self) -> float | None:
        return float(self.count) if self.phase is Phase.ENDED else None

    def press(self, t: float) -> Self:
        """Start, or count one; a press stamped after the window ends it and does not count.

        A press stamped within the window counts even when the window has been closed meanwhile, as
        long as the timer was not stopped and nothing has been answered.
        """
        if self.incomplete or self.half is not None:
            return self
        if self.deadline is not None and t > self.deadline:
            return replace(self, reached=True, late=True)
        return self._add(t, self.min_split_s)

    def answer(self, yes: bool) -> Self:
        return replace(self, half=yes) if self.asking else self

    def stop(self, t: float) -> Self:
        if self.phase is Phase.RUNNING and self.deadline is not None and t > self.deadline:
            return replace(self, reached=True)
        # By name: a class with slots is made anew, so that `super` without a name is of another.
        return CountingTimer.stop(self, t)

    def tick(self, now: float) -> Self:
        if self.phase is not Phase.RUNNING or self.deadline is None:
            return self
        return replace(self, reached=True) if now >= self.deadline + GRACE_S else self

    def elapsed(self, now: float) -> float:
        running = min(CountingTimer.elapsed(self, now), self.window_s)
        return self.window_s if self.reached else running

    @property
    def note(self) -> str:
        late = self.late and self.half is None
        return AFTER_THE_END if late else super(CountInTimeTimer, self).note
