"""What hands have done in a trial so far: all that Backspace can take back, in one value."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from screen_tui.timing import (
    CountInTimeTimer,
    HoldTimer,
    Phase,
    StepsTimer,
    TimeForCountTimer,
    Timer,
)

Direction = Literal["up", "down"]


@dataclass(frozen=True, slots=True)
class Made:
    """The state of a trial that was made by hand.

    Attributes:
        timer: The timer; None for a test that is not timed.
        go_at: Time at which a count-in starts the timer; None when none was begun.
        repetitions: Repetitions counted in a test that is only watched.
        signs: Ids of the signs seen.
        pain: 0 to 10, or None.
        ended: The id of why it ended, or "".
        direction: Up or down, for stairs.
        steps: Number of stair steps, for stairs.
    """

    timer: Timer | None
    go_at: float | None = None
    repetitions: int = 0
    signs: tuple[str, ...] = ()
    pain: int | None = None
    ended: str = ""
    direction: Direction | None = None
    steps: int | None = None

    @property
    def phase(self) -> Phase | None:
        """The phase of the timer; None for a test that is not timed."""
        return None if self.timer is None else self.timer.phase

    @property
    def counting_in(self) -> bool:
        """Whether a count-in is under way."""
        return self.go_at is not None and self.phase is Phase.READY

    @property
    def running(self) -> bool:
        """Whether the timer runs."""
        return self.phase is Phase.RUNNING

    @property
    def begun(self) -> bool:
        """Whether there is anything that a record of the trial would hold."""
        noted = bool(self.signs or self.ended or self.repetitions) or self.pain is not None
        timed = self.phase is not None and self.phase is not Phase.READY
        return noted or timed or self.counting_in

    @property
    def asking(self) -> bool:
        """Whether the question about the last repetition is open."""
        return isinstance(self.timer, CountInTimeTimer) and self.timer.asking

    @property
    def capped(self) -> bool:
        """Whether a hold lasted its full time."""
        return isinstance(self.timer, HoldTimer) and self.timer.capped

    @property
    def incomplete(self) -> bool:
        """Whether it was stopped by hand before what it measures was complete."""
        return self.timer is not None and self.timer.incomplete

    @property
    def ignored(self) -> int:
        """Presses left out as too fast."""
        if isinstance(self.timer, CountInTimeTimer | TimeForCountTimer | StepsTimer):
            return self.timer.ignored
        return 0

    def with_timer(self, timer: Timer) -> Made:
        """The same with the timer moved on."""
        return replace(self, timer=timer)

    def toggled(self, sign: str) -> Made:
        """The same with a sign put on, or taken off."""
        if sign in self.signs:
            return replace(self, signs=tuple(each for each in self.signs if each != sign))
        return replace(self, signs=(*self.signs, sign))

    def started_if_due(self, now: float) -> Made:
        """The same with the timer started at the end of a count-in that is over by `now`."""
        if self.timer is None or self.go_at is None or not self.counting_in or now < self.go_at:
            return self
        return self.with_timer(self.timer.press(self.go_at))


def only_ignored(before: Timer, after: Timer) -> bool:
    """Whether a press changed nothing but the number of presses that were not counted."""
    if isinstance(before, CountInTimeTimer) and isinstance(after, CountInTimeTimer):
        same_window = before.log.start == after.log.start
        return same_window and before.counted == after.counted
    if isinstance(before, TimeForCountTimer | StepsTimer) and isinstance(
        after, TimeForCountTimer | StepsTimer
    ):
        return before.log.start == after.log.start and before.counted == after.counted
    return False
